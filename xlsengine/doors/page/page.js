"use strict";
const key = document.querySelector("meta[name=key]").content;
const outcomes = document.querySelector("#outcomes"), said = document.querySelector("#status"), choose = document.querySelector("#choose");
const MOST_SHOWN = 40, MARKS = { impossible: "▲ impossible", doubtful: "● doubtful", note: "○ note" };
let articles = 0;

function make(tag, attributes, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) if (value !== null && value !== undefined) made.setAttribute(name, value);
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return made;
}

function handOver(files) {
  document.body.classList.add("worked");
  for (const file of files) handOverOne(file);
}

async function handOverOne(file) {
  const article = waiting(file.name);
  const reply = await asked("/work", { method: "POST", headers: { "X-Key": key, "X-Name": encodeURIComponent(file.name) }, body: file });
  articles += 1;
  settled(article, reply.error ? refused(reply, file.name) : reply.faults.length ? faulty(reply, file.name) : done(reply, file.name), inShort(reply, file.name));
}

function waiting(name) {
  for (const other of [...outcomes.children]) if (other.dataset.name === name) other.remove();
  const article = make("article", { "data-name": name, "aria-busy": "true" },
    make("h2", { tabindex: "-1" }, name), make("p", { class: "from" }, "is read, checked and computed …"), make("progress", { "aria-label": `Working on ${name}` }));
  outcomes.prepend(article);
  say(`${name} is being worked on.`);
  return article;
}

function settled(article, parts, text) {
  article.replaceChildren(...parts.flat().filter(Boolean));
  article.removeAttribute("aria-busy");
  const others = document.querySelectorAll("[aria-busy]").length;
  say(text + (others ? ` ${others} more at work.` : ""));
  if (!others) article.querySelector("h2").focus();
}

async function asked(address, request) {
  try {
    const answer = await fetch(address, request);
    return answer.headers.get("content-type").startsWith("application/json") ? await answer.json() : { error: await answer.text() };
  } catch {
    return { error: "No answer came. Is it a folder, or was it moved? Then choose the workbook itself. Else the program behind this page has ended: start it again (xlsengine page)." };
  }
}

function say(text) { said.textContent = text; }

function inShort(reply, name) {
  if (reply.error) return `${name}: not read.`;
  if (reply.faults.length) return `${name}: ${reply.fault_count}`;
  return `${name}: results are ready, ${counts(reply.answers)}.`;
}

function counts(answers) {
  const found = Object.entries(answers.flag_counts).filter(([, count]) => count).map(([word, count]) => `${count} ${word}`);
  return found.length ? `flags: ${found.join(", ")}` : "no flags";
}

function heading(text, from) { return [make("h2", { tabindex: "-1" }, text), from && make("p", { class: "from" }, from)]; }

function sideBySide(reply) {
  return [
    heading(reply.motors.join(" · "), "Side by side, brought to the voltage and air of the first: who is ahead only where the difference is more than noise."),
    takes(reply),
    reply.verdicts.length ? list("Who is ahead", reply.verdicts, true) : make("p", { class: "lead" }, "No difference between them is more than noise."),
    reply.notes.map((text) => make("p", { class: "lead note" }, text)),
  ];
}

function foundPairs(reply) {
  const { fitting, near, searched, tests } = reply.counts;
  const rows = reply.pairs.map(([verdict, ...rest]) => [make("span", { class: "mark" }, verdict), ...rest]);
  return [
    heading(`${fitting === 1 ? "1 pair fits" : `${fitting} pairs fit`} the craft`, `${near} borderline, of ${searched} pairs of ${tests} tests. ${fitting ? "" : "Nearest are:"}`),
    takes(reply),
    make("p", { class: "first" }, document.querySelector("footer").dataset.first),
    make("p", { class: "lead" }, reply.estimates),
    make("h3", {}, reply.counts.searched > reply.pairs.length ? `The first ${reply.pairs.length}` : "All of them"),
    table("pairs", reply.heads, rows, reply.pairs.map(([verdict]) => verdict)),
  ];
}

function unclear(reply) {
  return [heading(`The craft: ${reply.fault_count}`, "Nothing was searched yet."),
    table("faults", ["Field", "Found", "Wanted", "Fix"], reply.faults.map((fault) => [fault.label, fault.found, fault.wanted, fault.fix]))];
}

function refused(reply, name) { return [heading(name), make("p", { class: "stop" }, reply.error)]; }

function faulty(reply, name) {
  return [
    heading(`${name}: ${reply.fault_count.split(";")[0]}`, `Nothing was computed yet. Fix these cells in ${reply.taken ? "the workbook with your readings" : "your spreadsheet program"}, save, and drop ${reply.taken ? "that" : "the file again"}.`),
    takes(reply), taken(reply),
    list("How your entries were read", reply.told, true),
    make("h3", {}, "What to fix"),
    table("faults", ["Cell", "Found", "Wanted", "Fix"], reply.faults.map((fault) => [where(fault), fault.found, fault.wanted, fault.fix])),
  ];
}

function done(reply, name) {
  const head = reply.headline, answers = [...head.answers.slice(0, 2), head.in_flight, ...head.answers.slice(2)];
  const kv = head.kv && `${head.kv} (label)`, counted = `${capital(reply.answers.left_out)}. `;
  const odd = reply.flagged === 1 ? "One entry looks odd" : `${reply.flagged} entries look odd`;
  return [
    heading(head.title, [name, kv, head.tester, head.date].filter(Boolean).join(" · ")),
    head.disclosure && make("p", { class: "from" }, head.disclosure),
    reply.flags.length ? make("p", { class: "caveat" }, make("a", { href: `#flags-${articles}` }, `${odd}: see what to do.`)) : null,
    reply.flags.length ? make("p", { class: "lead" }, counted) : null,
    reply.answers.caveat && make("p", { class: "caveat" }, reply.answers.caveat),
    make("dl", { class: "answers" }, answers.map((one) =>
      make("div", {}, make("dt", {}, one.title), make("dd", { class: "line" }, one.line), make("dd", {}, one.words)))),
    make("p", { class: "first" }, document.querySelector("footer").dataset.first),
    reply.flags.length ? null : make("p", { class: "lead" }, counted, "No reading looks odd."),
    takes(reply), taken(reply),
    make("h3", {}, "Headline figures"),
    make("dl", { class: "figures" }, reply.answers.headlines.filter((line) => line.value !== null).map((line) =>
      make("div", {}, make("dt", {}, line.label), make("dd", {}, make("b", {}, line.shown), line.place), line.note && make("dd", { class: "note" }, line.note)))),
    make("div", { class: "stated" }, [head.motor, head.conditions].filter(Boolean).map((text) => make("p", { class: "note" }, text))),
    flags(reply),
    reply.changes.length ? list("Changed since it was written", reply.changes, true) : null,
    charts(reply),
    list("Advice in full", reply.answers.advice),
    list("How your entries were read", reply.told),
  ];
}

function capital(text) { return text.charAt(0).toUpperCase() + text.slice(1); }

function takes(reply) {
  const words = { results: "Results workbook", filled: "Workbook with your readings", wide: "Picture, wide", tall: "Picture, tall", page: "Page to publish", side: "Workbook, side by side", found: "Workbook, all pairs" };
  const offered = Object.keys(reply.files);
  if (offered.includes("results")) offered.push("wide", "tall", "page");
  const links = offered.map((what, place) => {
    const link = make("a", { class: place ? "button second" : "button", href: `/files/${reply.id}/${what}?key=${encodeURIComponent(key)}`, download: "" }, words[what]);
    return make("li", {}, link);
  });
  return links.length ? make("ul", { class: "takes", "aria-label": "Files to take" }, links) : null;
}

function taken(reply) {
  if (!reply.taken) return null;
  const count = reply.taken.readings, text = `${count} ${count === 1 ? "reading was" : "readings were"} taken in from your table. Add what else you know to the workbook with your readings, and drop that here.`;
  return [make("p", { class: "lead" }, text), list("What was understood of the table", reply.taken.told)];
}

function flags(reply) {
  if (!reply.flags.length) return null;
  const title = make("h3", { id: `flags-${articles}` }, `Entries to look at: ${counts(reply.answers).replace("flags: ", "")}`);
  const rows = reply.flags.map((flag) => [
    [make("span", { class: "mark" }, MARKS[flag.severity]), " ", flag.what], where(flag, flag.seen_with), flag.found, flag.expected, [flag.cause, flag.fix && make("div", {}, make("b", {}, flag.fix))],
  ]);
  const heads = ["What", "Cell", "Found", "Expected", "Likely cause, and what to do"], kinds = reply.flags.map((flag) => flag.severity);
  const more = rows.length > MOST_SHOWN && make("details", {}, make("summary", {}, `${rows.length - MOST_SHOWN} more`), table("flags", heads, rows.slice(MOST_SHOWN), kinds.slice(MOST_SHOWN)));
  return [title, table("flags", heads, rows.slice(0, MOST_SHOWN), kinds), more];
}

function where(one, more) {
  return [one.place.replace("!", " "), (one.label || more) && make("small", {}, [one.label, more].filter(Boolean).join(", "))];
}

function table(name, heads, rows, kinds = []) {
  const head = make("thead", {}, make("tr", {}, heads.map((text) => make("th", { scope: "col" }, text))));
  const body = make("tbody", {}, rows.map((row, number) => make("tr", { class: kinds[number] }, row.map((held, place) =>
    make("td", { "data-label": heads[place], class: heads[place] === "Cell" ? "where" : null }, ...[held].flat())))));
  return make("table", { class: name }, head, body);
}

function list(title, lines, open = false) {
  if (!lines || !lines.length) return null;
  return make("details", open ? { open: "" } : {}, make("summary", {}, `${title} (${lines.length})`), make("ul", { class: "told" }, lines.map((line) => make("li", {}, line))));
}

function charts(reply) {
  const drawn = Object.values(reply.charts);
  if (!drawn.length) return null;
  return [make("h3", {}, "Charts"), make("div", { class: "charts" }, drawn.map((text) => make("figure", {}, drawing(text))))];
}

function drawing(text) {
  const svg = document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
  for (const named of svg.querySelectorAll("[id]")) named.id = `${named.id}-${articles}`;
  const labels = (svg.getAttribute("aria-labelledby") || "").split(" ").filter(Boolean);
  svg.setAttribute("aria-labelledby", labels.map((label) => `${label}-${articles}`).join(" "));
  return svg;
}

choose.addEventListener("change", () => { handOver([...choose.files]); choose.value = ""; });
for (const kind of ["dragenter", "dragover"]) document.addEventListener(kind, (event) => { event.preventDefault(); document.body.classList.add("over"); });
document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("over"); });
document.addEventListener("drop", (event) => {
  event.preventDefault();
  document.body.classList.remove("over");
  handOver([...event.dataTransfer.files]);
});

const shelf = document.querySelector("#library"), form = document.querySelector("#compare"), told = document.querySelector("#library-said"), need = document.querySelector("#find");
const HEADS = ["Number and id", "Model", "Stator", "Kv (label)", "Date", "Highest thrust"];

async function listLibrary() {
  const reply = await asked("/library", { headers: { "X-Key": key } });
  if (reply.error) { told.textContent = reply.error; return; }
  told.textContent = `${reply.tests.length === 1 ? "1 test" : `${reply.tests.length} tests`} in ${reply.library}. Results are compared with the motors of their class, on the sheet Comparison.`;
  if (!reply.tests.length) return;
  form.querySelector("thead").append(make("tr", {}, HEADS.map((text) => make("th", { scope: "col" }, text))));
  form.querySelector("tbody").append(...reply.tests.map(([number, id, ...rest]) => make("tr", {},
    make("td", {}, make("label", {}, make("input", { type: "checkbox", value: number }), `${number}  ${id}`)), rest.map((text, place) => make("td", { "data-label": HEADS[place + 1] }, text)))));
  form.hidden = false;
  need.querySelector(".fields").append(...reply.need.map(asks));
  need.hidden = false;
}

function asks(field) {
  const held = field.choices.length
    ? make("select", { id: `need-${field.name}`, name: field.name }, make("option", { value: "" }, ""), field.choices.map((text) => make("option", {}, text)))
    : make("input", { id: `need-${field.name}`, name: field.name, value: field.default, autocomplete: "off", "aria-required": String(field.required) });
  held.setAttribute("aria-describedby", `means-${field.name}`);
  return make("div", {}, make("label", { for: `need-${field.name}` }, field.label + (field.required ? " *" : "")), held, make("small", { id: `means-${field.name}` }, field.meaning));
}

function chosen() { return [...form.querySelectorAll("input:checked")]; }

form.addEventListener("change", () => { const count = chosen().length; form.querySelector("button").disabled = count < 2 || count > 4; });
document.querySelector("#filter").addEventListener("input", (event) => {
  const wanted = event.target.value.trim().toLowerCase();
  for (const row of form.querySelectorAll("tbody tr")) row.hidden = !row.textContent.toLowerCase().includes(wanted);
});
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  if (form.querySelector("button").disabled) return;
  const numbers = chosen().map((box) => box.value).join(" "), article = waiting("Side by side");
  const reply = await asked("/compare", { method: "POST", headers: { "X-Key": key, "X-Numbers": numbers } });
  settled(article, reply.error ? refused(reply, "Side by side") : sideBySide(reply), reply.error || "The comparison is ready.");
});
need.addEventListener("submit", async (event) => {
  event.preventDefault();
  const article = waiting("The craft"), body = JSON.stringify(Object.fromEntries(new FormData(need)));
  const reply = await asked("/find", { method: "POST", headers: { "X-Key": key }, body });
  const parts = reply.error ? refused(reply, "The craft") : reply.faults.length ? unclear(reply) : foundPairs(reply);
  settled(article, parts, reply.error || reply.fault_count || `${reply.counts.fitting} pairs fit the craft.`);
});
if (!shelf.hidden) listLibrary();
