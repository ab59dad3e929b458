// What follows from an axis record while somebody types. Without this "Work it out" shows the same.
"use strict";

const PAUSE = 350; // milliseconds after a key before it is asked
const FIRST = 7; // facts that are seen before the rest is opened

const record = document.querySelector("form.record[data-look]");
const body = document.getElementById("follows-body");
const state = document.getElementById("follows-state");
const spoken = document.getElementById("follows-told");
let pausing, asking;

function part(tag, words, attributes = {}, ...inner) {
  const element = document.createElement(tag);
  element.textContent = words;
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...inner);
  return element;
}

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

function tellProblems(problems) {
  const elsewhere = new Set(Object.keys(problems));
  for (const place of record.querySelectorAll(".problem[id^=p-]")) {
    const name = place.id.slice(2);
    elsewhere.delete(name);
    const reason = problems[name];
    place.textContent = reason ? `⚠ ${capital(reason)}` : "";
    const field = document.getElementById(`f-${name}`);
    if (reason) field?.setAttribute("aria-invalid", "true");
    else field?.removeAttribute("aria-invalid");
  }
  document.getElementById("follows-problems").textContent = [...elsewhere]
    .map((name) => `⚠ ${capital(name.replaceAll("_", " ").replaceAll(".", ": "))}: ${problems[name]}.`)
    .join(" ");
}

function tellFacts(answer) {
  if (!answer.facts.length) {
    return [part("p", "Nothing yet: begin with the kind of mechanics, and the way of a turn.")];
  }
  const told = [listed(answer.facts.slice(0, FIRST))];
  const rest = answer.facts.slice(FIRST);
  if (rest.length) told.push(folded(`${rest.length} more`, listed(rest)));
  return [...told, ...answer.assumed.map((one) => part("p", `${capital(one)}.`, { class: "when" }))];
}

function listed(facts) {
  const list = part("dl", "", { class: "facts" });
  for (const fact of facts) {
    const size = part("dd", "", {}, part("b", fact.size), " ");
    size.append(part("span", fact.basis, { class: "when" }));
    list.append(part("dt", fact.title), size);
  }
  return list;
}

// What was open stays open when it is told anew.
function folded(title, content) {
  const is = (each) => each.open && each.firstElementChild.textContent.endsWith(title.replace(/^\d+/, ""));
  const open = [...body.querySelectorAll("details")].some(is) ? { open: "" } : {};
  return part("details", "", open, part("summary", title), content);
}

function tellMargins(answer) {
  const rest = answer.with_snapshot
    ? ""
    : " There is no export yet: those that need its values come with it.";
  const told = [part("h3", "Margins"), part("p", (answer.summary || "None has sense here.") + rest)];
  for (const one of answer.margins.filter((each) => each.stands !== "holds")) {
    const words = ` ${one.title}: ${one.ratio}, ${one.held}`;
    told.push(part("p", "", { class: "warning" }, part("b", `⚠ ${capital(one.stands)}`), words));
  }
  if (answer.margins.length) {
    const list = part("ul", "", { class: "hits" });
    for (const one of answer.margins) {
      list.append(part("li", `${one.title}: `, {}, part("b", one.ratio), `, ${one.held}`));
    }
    const count = answer.margins.length;
    told.push(folded(`${count} ${count === 1 ? "margin" : "margins"} told`, list));
  }
  return told;
}

function placeOf(name) {
  const field = document.getElementById(`f-${name}`) || document.querySelector(`[id^="f-${name}."]`);
  return field ? field.id : `f-${name.split(".")[0]}`;
}

function tellMissing(answer) {
  if (!answer.missing.length) return [];
  const line = part("p", "Most wait for: ");
  answer.missing.slice(0, 4).forEach((one, place) => {
    if (place) line.append(", ");
    const words = one.name.replaceAll("_", " ").replaceAll(".", ": ");
    line.append(part("a", words, { href: `#${placeOf(one.name)}` }));
  });
  line.append(".");
  return [line];
}

function tell(answer) {
  tellProblems(answer.problems);
  const parts = [...tellFacts(answer), ...tellMargins(answer), ...tellMissing(answer)];
  body.replaceChildren(...parts);
  state.textContent = "Of what is typed; nothing of it is stored yet.";
  const first = answer.facts[0];
  const wrong = Object.keys(answer.problems).length;
  spoken.textContent = wrong
    ? `${wrong} ${wrong === 1 ? "field" : "fields"} to put right`
    : first ? `${first.title}: ${first.size}` : "";
}

async function workOut() {
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  const typed = new FormData(record);
  typed.set("do", "look");
  try {
    const answer = await fetch(record.dataset.look, { method: "POST", body: typed, signal });
    const found = answer.ok ? await answer.json() : null;
    if (!signal.aborted && found) tell(found);
  } catch {
    // the button still works it out
  }
}

if (record && body && state && spoken) {
  record.addEventListener("input", () => {
    clearTimeout(pausing);
    pausing = setTimeout(workOut, PAUSE);
  });
}
