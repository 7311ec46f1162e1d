"use strict";
const table = document.querySelector("#figures"), body = table.tBodies[0], rows = [...body.rows];
const name = document.querySelector("#by-name"), cells = document.querySelector("#by-cells"), said = document.querySelector("#shown");
function show() {
  const wanted = name.value.trim().toLowerCase();
  let count = 0;
  for (const row of rows) {
    const fits = row.cells[0].textContent.toLowerCase().includes(wanted) && (!cells.value || row.dataset.cells === cells.value);
    row.hidden = !fits;
    count += fits;
  }
  said.textContent = `${count} of ${rows.length} rows shown`;
}
function key(row, place) {
  const held = row.cells[place].dataset.by;
  return held === undefined ? row.cells[place].textContent.toLowerCase() : held === "" ? null : Number(held);
}
function order(one, other, place, turn) {
  const a = key(one, place), b = key(other, place);
  if (a === null || b === null) return (a === null) - (b === null);
  return turn * (typeof a === "number" ? a - b : a.localeCompare(b, undefined, { numeric: true }));
}
table.tHead.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  const head = button.parentElement, up = head.getAttribute("aria-sort") !== "ascending";
  for (const other of table.tHead.rows[0].cells) other.setAttribute("aria-sort", "none");
  head.setAttribute("aria-sort", up ? "ascending" : "descending");
  rows.sort((one, other) => order(one, other, head.cellIndex, up ? 1 : -1));
  body.append(...rows);
});
name.addEventListener("input", show);
cells.addEventListener("change", show);
document.querySelector(".tools").hidden = false;
show();
