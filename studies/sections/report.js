// Sorting, the baseline switch, and the 3D views. The page is complete without any of it.
(() => {
  "use strict";

  const value = (cell) => {
    if (cell.dataset.value !== undefined) return Number(cell.dataset.value);
    const found = /[-+−]?\d+(?:\.\d+)?/.exec(cell.textContent);
    return found ? Number(found[0].replace("−", "-")) : null;
  };
  const compared = (a, b) => {
    const [x, y] = [value(a), value(b)];
    if (x !== null && y !== null && x !== y) return x - y;
    return a.textContent.localeCompare(b.textContent);
  };

  const sortable = (table) => {
    const rows = [...table.tBodies[0].rows];
    if (rows.length < 3) return;
    const headings = [...table.tHead.rows[0].cells];
    headings.forEach((heading, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.className = "sort";
      button.append(...heading.childNodes);
      heading.append(button);
      button.addEventListener("click", () => {
        const first = heading.dataset.high ? "descending" : "ascending";
        const other = first === "ascending" ? "descending" : "ascending";
        const way = heading.getAttribute("aria-sort") === first ? other : first;
        for (const one of headings) one.removeAttribute("aria-sort");
        heading.setAttribute("aria-sort", way);
        const sign = way === "ascending" ? 1 : -1;
        rows.sort((a, b) => sign * compared(a.cells[column], b.cells[column]));
        table.tBodies[0].append(...rows);
      });
    });
  };
  for (const table of document.querySelectorAll("main table")) {
    if (table.tHead && table.tBodies.length) sortable(table);
  }

  const baseline = document.getElementById("baseline");
  if (baseline) {
    baseline.closest("p").hidden = false;
    const words = (own, base) => {
      if (base === 0) return "no baseline";
      const percent = Math.round(100 * (own / base - 1));
      return percent ? `${percent > 0 ? "+" : ""}${percent} %` : "same";
    };
    baseline.addEventListener("change", () => {
      const chosen = baseline.value;
      for (const row of document.querySelectorAll("tr[data-layout]")) {
        const own = row.dataset.layout === chosen;
        for (const mark of row.querySelectorAll(".is-baseline")) mark.hidden = !own;
      }
      const base = `tr[data-layout="${chosen}"] `;
      for (const change of document.querySelectorAll("[data-change]")) {
        const other = document.querySelector(`${base}[data-change="${change.dataset.change}"]`);
        change.textContent = change.closest("tr").dataset.layout === chosen
          ? "–" : words(Number(change.dataset.value), Number(other.dataset.value));
      }
    });
  }

  const place = document.getElementById("turn");
  if (place) {
    const stills = document.getElementById("stills");
    const fallback = () => {
      document.body.classList.remove("turning");
      place.hidden = true;
      stills.hidden = true;
      document.getElementById("turn-fallback").hidden = false;
    };
    const pack = JSON.parse(document.getElementById("pack").textContent);
    place.hidden = false;
    Promise.resolve().then(() => GussetryViewer.show(place, pack)).then((viewer) => {
      window.viewer = viewer;
      document.body.classList.add("turning");
      stills.hidden = !document.querySelector(".still");
      stills.addEventListener("click", () => {
        const shown = document.body.classList.toggle("with-stills");
        stills.setAttribute("aria-expanded", String(shown));
        stills.textContent = shown ? "Hide the still pictures" : "Show the still pictures, as printed";
      });
    }).catch(fallback);
  }
})();
