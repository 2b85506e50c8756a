// Tables whose rows are chosen by a form: each field names the row's data attribute that it asks for.
import { plural } from "./draw.js";

/** Whether a row answers to what is asked: every attribute that is asked for agrees, every word is in its text. */
export function answers(row, asked, find) {
  const agrees = Object.entries(asked).every(([name, value]) => value === "" || String(row.data[name] ?? "") === value);
  return agrees && find.toLowerCase().split(/\s+/).every((word) => row.text.includes(word));
}

export function filteredTable(form) {
  const body = document.getElementById(form.dataset.for).tBodies[0];
  const rows = Array.from(body.rows, (row) => ({ element: row, data: row.dataset, text: row.textContent.toLowerCase() }));
  const said = form.querySelector("output");
  const extra = {};  // asked for by other means than the form
  function choose() {
    const asked = { ...extra };
    for (const [name, value] of new FormData(form)) if (name !== "find") asked[name] = value;
    const find = form.elements.find.value;
    let shown = 0;
    for (const row of rows) {
      row.element.hidden = !answers(row, asked, find);
      shown += !row.element.hidden;
    }
    said.textContent = shown === rows.length ? plural(shown, "row") : `${plural(shown, "row")} of ${rows.length}`;
  }
  form.addEventListener("input", choose);
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("reset", () => {
    Object.keys(extra).forEach((name) => delete extra[name]);
    setTimeout(choose);
  });
  choose();
  return {
    ask(wanted) {
      form.reset();
      for (const [name, value] of Object.entries(wanted)) {
        const field = form.elements[name];
        if (field) field.value = value;
        else extra[name] = value;
      }
      setTimeout(() => { Object.assign(extra, Object.fromEntries(Object.entries(wanted).filter(([name]) => !form.elements[name]))); choose(); });
    },
  };
}
