// The form, drawn from the server's description of the study file. Values stay as they were typed.

import { at, el, plan, put } from "./dom.js";
import { slider } from "./drag.js";
import { Lists } from "./entries.js";

const DRAGGED = new Set(["tube", "bottom_plate", "top_plate", "pin", "hole"]);
const NUMBER = /^\s*[+-]?(\d+\.?\d*|\.\d+)\s*$/;
let count = 0;

// ``study`` holds the data; ``changed`` is called after each change, ``redrawn`` when fields come or go.
class Fields {
  constructor(form, patterns, sentences, changed, redrawn) {
    Object.assign(this, { form, patterns, sentences, changed, redrawn });
    this.places = new Map();
    this.kept = new Map();
    this.data = {};
  }

  clear() {
    this.places.clear();
    this.headings.length = 0;
  }

  // Field sets of these keys of the study file, in this order.
  parts(keys) {
    const fields = keys.map((key) => this.form.find((one) => one.key === key)).filter(Boolean);
    const plain = fields.filter((one) => !["table", "tables", "lines"].includes(one.sort));
    const others = fields.filter((one) => !plain.includes(one));
    const general = plain.length
      ? [el("fieldset", { class: "part" }, el("legend", {}, "General"),
        ...plain.map((one) => this.field(one, [one.key])))] : [];
    return [...general, ...others.map((one) => this.part(one, [one.key]))];
  }

  part(field, path) {
    if (field.sort === "tables") return this.tables(field, path);
    if (field.sort === "lines") return this.lines(field, path);
    const there = at(this.data, path) !== undefined;
    const rooms = el("div", { class: "fields" });
    const optional = !field.required && field.fields.some((one) => one.required);
    const told = this.problem(path);
    const head = el("legend", {}, optional ? this.onOff(field, path, there) : field.label);
    if (there || !optional) {
      rooms.append(...field.fields.map((one) => this.field(one, [...path, one.key])));
    }
    return el("fieldset", { class: "part", "data-part": path.join(".") }, head, help(field), told, rooms);
  }

  onOff(field, path, there) {
    const box = el("input", {
      type: "checkbox", checked: there,
      onchange: () => {
        const key = path.join(".");
        if (box.checked) put(this.data, path, this.kept.get(key) || {});
        else {
          this.kept.set(key, at(this.data, path));
          put(this.data, path, undefined);
        }
        this.changed();
        this.redrawn(`[data-part="${key}"] input`);
      },
    });
    return el("label", { class: "onoff" }, box, ` ${field.label}`);
  }

  field(field, path) {
    const makers = {
      text: "text", number: "text", count: "text", choice: "choice", switch: "choice", pair: "pair",
      texts: "texts", steel: "steel", table: "part", tables: "tables", lines: "lines",
    };
    if (["table", "tables", "lines"].includes(field.sort)) return this.part(field, path);
    if (path[0] === "layouts" && field.key === "pattern") return this.pattern(field, path);
    if (field.sort === "switch" && field.default === false) return this.tick(field, path);
    return this[makers[field.sort]](field, path);
  }

  row(field, path, id, ...inside) {
    const told = this.problem(path, id);
    return el("div", { class: "field" },
      el("label", { for: id }, field.label, field.required ? "" : el("span", { class: "soft" }, " (optional)")),
      ...inside, field.help ? el("p", { class: "help", id: `${id}-help` }, field.help) : null, told);
  }

  problem(path, id = "") {
    const key = path.join(".");
    const told = el("p", { class: "problem", hidden: true, id: `problem-${++count}` });
    this.places.set(key, { told, id, path });
    return told;
  }

  box(field, path, id, more = {}) {
    const value = at(this.data, path);
    const box = el("input", {
      id, value: value === undefined || value === null ? "" : String(value), autocomplete: "off",
      spellcheck: "false", "aria-describedby": `${id}-help`, ...more,
      oninput: () => {
        put(this.data, path, this.typed(field, box.value));
        this.changed();
      },
    });
    return box;
  }

  typed(field, text) {
    if (text.trim() === "") return undefined;
    const plain = field.sort === "number" || field.sort === "count";
    return plain && NUMBER.test(text) ? Number(text) : text;
  }

  text(field, path) {
    const id = `f${++count}`;
    const plain = field.sort !== "text";
    const box = this.box(field, path, id, plain ? { inputmode: "decimal" } : {});
    const list = this.proposals(field, box);
    const drag = DRAGGED.has(path[0]) ? slider(box, field.label) : null;
    return this.row(field, path, id, box, list, drag);
  }

  proposals(field, box) {
    if (!field.proposed.length) return null;
    const id = `l${++count}`;
    box.setAttribute("list", id);
    return el("datalist", { id }, ...field.proposed.map((one) => el("option", { value: one })));
  }

  choice(field, path) {
    const id = `f${++count}`;
    const values = field.sort === "switch" ? [true, false] : field.choices;
    const words = (one) => ({ true: "yes", false: "no" })[String(one)] || String(one);
    const now = at(this.data, path);
    const box = el("select", {
      id, "aria-describedby": `${id}-help`,
      onchange: () => {
        put(this.data, path, box.value === "" ? undefined : values[Number(box.value)]);
        this.changed();
      },
    });
    const known = values.includes(now);
    if (!field.required || !known) {
      const usual = field.default !== null ? `${words(field.default)} (usual)` : "not said";
      box.append(el("option", { value: "" }, usual));
    }
    values.forEach((one, index) => {
      if (one !== field.default || known) box.append(el("option", { value: index }, words(one)));
    });
    box.value = known ? String(values.indexOf(now)) : "";
    return this.row(field, path, id, box);
  }

  tick(field, path) {
    const box = el("input", {
      type: path[0] === "layouts" && field.key === "baseline" ? "radio" : "checkbox",
      name: field.key, checked: at(this.data, path) === true,
      onchange: () => {
        if (box.type === "radio") this.data.layouts.forEach((one) => delete one.baseline);
        put(this.data, path, box.checked ? true : undefined);
        this.changed();
      },
    });
    return el("div", { class: "field" }, el("label", { class: "onoff" }, box, ` ${field.label}`), help(field),
      this.problem(path));
  }

  pair(field, path) {
    const id = `f${++count}`;
    const boxes = [0, 1].map((index) => {
      const now = at(this.data, path);
      const box = el("input", {
        id: index ? `${id}-b` : id, autocomplete: "off", spellcheck: "false",
        value: Array.isArray(now) ? (now[index] ?? "") : index ? "" : (now ?? ""),
        "aria-label": `${field.label}, ${index ? "second" : "first"}`, "aria-describedby": `${id}-help`,
        oninput: () => {
          const both = boxes.map((one) => one.value);
          put(this.data, path, both.every((one) => one.trim() === "") ? undefined : both);
          this.changed();
        },
      });
      return box;
    });
    const drags = DRAGGED.has(path[0]) && field.key === "size"
      ? boxes.map((box, index) => slider(box, `${field.label}, ${index ? "second" : "first"}`)) : [null, null];
    return this.row(field, path, id, el("span", { class: "pair" },
      el("span", {}, boxes[0], drags[0]), el("span", { class: "by", "aria-hidden": true }, "×"),
      el("span", {}, boxes[1], drags[1])));
  }

  texts(field, path) {
    const id = `f${++count}`;
    const list = el("span", { class: "texts" });
    // A blank box stands at the end; none is taken away while it may be in hand.
    const add = (value) => {
      const index = list.children.length;
      list.append(el("input", {
        id: index ? `${id}-${index}` : id, value, autocomplete: "off",
        "aria-label": `${field.label}, ${index + 1}`, "aria-describedby": `${id}-help`,
        oninput: () => {
          const all = [...list.children].map((one) => one.value).filter((one) => one.trim() !== "");
          put(this.data, path, all.length ? all : undefined);
          if (list.lastChild.value.trim()) add("");
          this.changed();
        },
      }));
    };
    const now = at(this.data, path);
    [...(Array.isArray(now) ? now : []), ""].forEach(add);
    return this.row(field, path, id, list);
  }

  steel(field, path) {
    const id = `f${++count}`;
    const own = typeof at(this.data, path) === "object" && at(this.data, path) !== null;
    const key = path.join(".");
    const flip = el("button", {
      type: "button", class: "small",
      onclick: () => {
        const other = this.kept.get(key);
        this.kept.set(key, at(this.data, path));
        put(this.data, path, other ?? (own ? undefined : {}));
        this.changed();
        this.redrawn(`[data-steel="${key}"] button`);
      },
    }, own ? "Take a grade" : "Own figures");
    const inside = [];
    if (own) {
      inside.push(el("div", { class: "fields inner" },
        ...field.fields.map((one) => this.field(one, [...path, one.key]))));
    } else {
      const box = this.box(field, path, id);
      inside.push(box, this.proposals(field, box));
    }
    const row = own
      ? el("div", { class: "field" }, el("p", { class: "label" }, field.label), ...inside, this.problem(path))
      : this.row(field, path, id, ...inside);
    row.dataset.steel = key;
    row.append(flip);
    return row;
  }

  pattern(field, path) {
    const id = `f${++count}`;
    const now = at(this.data, path);
    const cards = Object.entries(this.patterns).map(([name, drawn]) => {
      const box = el("input", {
        type: "radio", name: id, value: name, checked: name === now,
        onchange: () => {
          const free = "free";
          const ribsComeOrGo = (at(this.data, path) === free) !== (name === free);
          put(this.data, path, name);
          const ribs = [...path.slice(0, -1), "ribs"];
          const key = ribs.join(".");
          if (name !== free && at(this.data, ribs) !== undefined) {
            this.kept.set(key, at(this.data, ribs));
            put(this.data, ribs, undefined);
          } else if (name === free && this.kept.has(key)) put(this.data, ribs, this.kept.get(key));
          this.changed();
          if (ribsComeOrGo) this.redrawn(`[data-part="${path.join(".")}"] :checked`);
        },
      });
      return el("label", { class: "pattern", title: this.sentences[name] }, box, plan(drawn),
        el("span", {}, name.replace("-", " ")));
    });
    return el("fieldset", { class: "field patterns", "data-part": path.join(".") }, el("legend", {}, field.label),
      help(field), this.problem(path), el("div", { class: "cards" }, ...cards));
  }

  // Tell each problem beside its box; returns those that no box on this sheet takes.
  tell(problems) {
    for (const { told, id } of this.places.values()) {
      told.hidden = true;
      told.textContent = "";
      const box = id && document.getElementById(id);
      if (box) {
        box.removeAttribute("aria-invalid");
        box.setAttribute("aria-describedby", `${id}-help`);
      }
    }
    return problems.filter((one) => !this.tellOne(one));
  }

  tellOne(problem) {
    for (let length = problem.location.length; length; length -= 1) {
      const place = this.places.get(problem.location.slice(0, length).join("."));
      if (!place) continue;
      place.told.hidden = false;
      place.told.textContent = `${problem.problem}; ${problem.remedy}`;
      const box = place.id && document.getElementById(place.id);
      if (box) {
        box.setAttribute("aria-invalid", "true");
        box.setAttribute("aria-describedby", `${place.told.id} ${place.id}-help`);
      }
      return true;
    }
    return false;
  }
}

const help = (field) => (field.help ? el("p", { class: "help" }, field.help) : null);

export class Form extends Lists(Fields) {}
