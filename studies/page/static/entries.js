// Lists in the form: layouts, loads, ribs, stock, and the quantities of a sweep.

import { at, el, put } from "./dom.js";

const ADDED = { layouts: "a layout", ribs: "a rib" };
const NAMED = { layouts: "Layout", loads: "Load", ribs: "Rib" };

export const Lists = (Base) => class extends Base {
  // Each entry's box as last drawn. The box itself knows whether it is open: its event comes late.
  boxes = new WeakMap();
  headings = [];

  tables(field, path) {
    const entries = at(this.data, path);
    const list = el("div", { class: "entries" });
    (Array.isArray(entries) ? entries : []).forEach((entry, index) => {
      if (entry && typeof entry === "object") list.append(this.entry(field, path, entry, index));
    });
    const kinds = field.variants ? Object.keys(field.variants) : [""];
    const adds = kinds.map((kind) => el("button", {
      type: "button",
      onclick: () => {
        const now = Array.isArray(at(this.data, path)) ? at(this.data, path) : [];
        const fresh = this.fresh(field, path, kind, now.length);
        put(this.data, path, [...now, fresh]);
        this.open(fresh);
        this.changed();
        this.redrawn(`[data-entry="${[...path, now.length].join(".")}"] input`);
      },
    }, `Add ${kind || ADDED[field.key] || "one"}`));
    const outer = path.length > 1 && field.key === "ribs" && at(this.data, path) === undefined
      && at(this.data, [...path.slice(0, -1), "pattern"]) !== "free";
    if (outer) return el("div", { hidden: true }, this.problem(path));
    return el("fieldset", { class: "part", "data-part": path.join(".") }, el("legend", {}, field.label),
      help(field), this.problem(path), list, el("p", { class: "row" }, ...adds));
  }

  fresh(field, path, kind, number) {
    const name = `${NAMED[field.key] || "Entry"} ${number + 1}`;
    if (field.key === "shelf") return { kind, quantity: 1 };
    if (field.key === "layouts") return { name, pattern: "corner-diagonal" };
    if (kind === "wrap") return { kind, name, toward: "front" };
    return kind ? { kind, name } : { name };
  }

  entry(field, path, entry, index) {
    const here = [...path, index];
    const fields = field.variants ? field.variants[entry.kind] || [] : field.fields;
    const title = () => entry.name || `${entry.kind || field.label} ${index + 1}`;
    const move = (to) => {
      const all = at(this.data, path);
      [all[index], all[to]] = [all[to], all[index]];
      this.changed();
      this.redrawn(`[data-entry="${[...path, to].join(".")}"] summary`);
    };
    const all = at(this.data, path);
    const out = el("button", {
      type: "button", class: "small",
      onclick: () => {
        all.splice(index, 1);
        if (!all.length && !field.required) put(this.data, path, undefined);
        this.changed();
        this.redrawn(`[data-part="${path.join(".")}"] button`);
      },
    });
    const buttons = el("p", { class: "row" },
      index > 0 ? el("button", { type: "button", class: "small", onclick: () => move(index - 1) }, "Move up") : null,
      el("button", {
        type: "button", class: "small",
        onclick: () => {
          all.splice(index + 1, 0, { ...JSON.parse(JSON.stringify(entry)), name: `${title()} again`, baseline: undefined });
          if (field.key === "shelf" && !entry.name) delete all[index + 1].name;
          delete all[index + 1].baseline;
          this.open(all[index + 1]);
          this.changed();
          this.redrawn(`[data-entry="${[...path, index + 1].join(".")}"] input`);
        },
      }, "Copy"),
      out);
    const summary = el("summary");
    const named = () => {
      out.textContent = `Take “${title()}” out`;
      summary.replaceChildren(title(), entry.baseline ? el("span", { class: "tag" }, "baseline") : "",
        entry.kind ? el("span", { class: "soft" }, ` ${entry.kind}`) : "");
    };
    named();
    this.headings.push(named);
    const box = el("details", { class: "entry", "data-entry": here.join("."), open: this.boxes.get(entry)?.open },
      summary, this.problem(here), ...fields.map((one) => this.field(one, [...here, one.key])), buttons);
    this.boxes.set(entry, box);
    return box;
  }

  // Let headings follow what was typed below them.
  renamed() {
    for (const named of this.headings) named();
  }

  // Let an entry stand open, also when it is drawn next.
  open(entry) {
    const box = this.boxes.get(entry);
    if (box) box.open = true;
    else this.boxes.set(entry, { open: true });
  }

  lines(field, path) {
    const flat = (table, before = "") => Object.entries(table || {}).flatMap(([key, value]) =>
      value && typeof value === "object" && !Array.isArray(value)
        ? flat(value, `${before}${key}.`) : [[before + key, Array.isArray(value) ? value.join(", ") : String(value)]]);
    const rows = [...flat(at(this.data, path)), ["", ""]];
    const list = el("div", { class: "entries" });
    const read = () => {
      const all = [...list.children].map((row) => [...row.querySelectorAll("input")].map((one) => one.value.trim()));
      const said = all.filter(([key, value]) => key || value);
      put(this.data, path, said.length ? Object.fromEntries(said) : undefined);
      this.changed();
    };
    const add = ([key, value]) => list.append(el("div", { class: "pair" },
      el("input", { value: key, "aria-label": "Quantity to vary", placeholder: "tube.wall", oninput: read }),
      el("span", { class: "by" }, "="),
      el("input", { value, "aria-label": "Its values", placeholder: "5, 6, 8 mm", oninput: read })));
    rows.forEach(add);
    return el("fieldset", { class: "part", "data-part": path.join(".") }, el("legend", {}, field.label),
      help(field), this.problem(path), list,
      el("p", { class: "row" }, el("button", { type: "button", onclick: () => add(["", ""]) }, "Add a quantity")));
  }
};

const help = (field) => (field.help ? el("p", { class: "help" }, field.help) : null);
