// Results below the box in the header while somebody types. Without this the form goes to /find.
"use strict";

const WAIT = 120; // milliseconds after a key before the question is asked
const LEAST = 2; // letters from where it is asked

// Title of each group of the answer, with the words, the reason and the address of one of its hits.
const GROUPS = {
  axes: [
    "Axes",
    (hit) => [hit.axis, hit.title, reason(hit)],
    (hit) => `/axis/${path(hit.axis)}`,
  ],
  machines: [
    "Machines",
    (hit) => [hit.machine, "", reason(hit)],
    (hit) => `/machine/${path(hit.machine)}`,
  ],
  parameters: [
    "Parameters",
    (hit) => [hit.name, hit.code, [hit.family, hit.why].filter(Boolean).join(", ")],
    (hit) => `/find?setting=1&text=${encodeURIComponent(hit.code)}`,
  ],
  faults: [
    "Faults",
    (hit) => [hit.code, hit.name, hit.why],
    (hit) => (hit.count === 1 ? `/axis/${path(hit.axes[0])}` : question(hit.code)),
  ],
  people: ["People", (hit) => [hit.person, "", hit.why], (hit) => question(hit.person)],
  families: [
    "Families",
    (hit) => [hit.family, hit.title],
    (hit) => `/families/${path(hit.family)}`,
  ],
  snapshots: [
    "Snapshots",
    (hit) => [hit.axis, hit.taken_at.slice(0, 10), hit.snapshot.slice(0, 10)],
    (hit) => `/axis/${path(hit.axis)}/at/${hit.snapshot}`,
  ],
};

const path = (text) => text.split("/").map(encodeURIComponent).join("/");
const reason = (hit) => (hit.retired ? `retired; ${hit.why}` : hit.why);
const question = (text) => `/find?text=${encodeURIComponent(text)}`;

const box = document.getElementById("search");
const list = document.getElementById("search-hits");
const told = document.getElementById("search-told");
let timer, asked, active = -1;

function options() {
  return [...list.querySelectorAll("[role=option]")];
}

function made(tag, words, attributes = {}) {
  const element = document.createElement(tag);
  element.textContent = words;
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}

function close() {
  clearTimeout(timer);
  asked?.abort();
  list.hidden = true;
  list.replaceChildren();
  active = -1;
  box.setAttribute("aria-expanded", "false");
  box.removeAttribute("aria-activedescendant");
  told.textContent = "";
}

function choose(number) {
  const all = options();
  all[active]?.setAttribute("aria-selected", "false");
  active = number;
  const chosen = all[active];
  if (!chosen) {
    box.removeAttribute("aria-activedescendant");
    return;
  }
  chosen.setAttribute("aria-selected", "true");
  chosen.scrollIntoView({ block: "nearest" });
  box.setAttribute("aria-activedescendant", chosen.id);
}

function option(place, [name, more, why], address) {
  const one = made("div", "", {
    role: "option", id: `search-hit-${place}`, "aria-selected": "false",
  });
  one.dataset.address = address;
  one.append(made("b", name));
  if (more) one.append(` ${more}`);
  if (why) one.append(" ", made("span", why, { class: "when" }));
  return one;
}

function show(answer) {
  list.replaceChildren();
  active = -1;
  let count = 0;
  for (const [key, [title, words, address]] of Object.entries(GROUPS)) {
    if (!answer[key]?.length) continue;
    const group = made("div", "", { role: "group", "aria-labelledby": `search-group-${key}` });
    group.append(
      made("p", title, { id: `search-group-${key}`, class: "group", role: "presentation" }),
    );
    for (const hit of answer[key]) group.append(option(count++, words(hit), address(hit)));
    list.append(group);
  }
  for (const text of answer.did_you_mean) {
    list.append(option(count++, [text, "", "did you mean this?"], question(text)));
  }
  list.hidden = count === 0;
  box.setAttribute("aria-expanded", String(count > 0));
  box.removeAttribute("aria-activedescendant");
  told.textContent = count === 1 ? "1 result" : count ? `${count} results` : "Nothing is called that";
}

async function ask() {
  const text = box.value.trim();
  asked?.abort();
  if (text.length < LEAST) return close();
  asked = new AbortController();
  const { signal } = asked;
  try {
    const answer = await fetch(`/api/v1/search?text=${encodeURIComponent(text)}`, { signal });
    const found = answer.ok ? await answer.json() : null;
    if (signal.aborted) return;
    if (found) show(found);
    else close();
  } catch {
    if (!signal.aborted) close(); // the form still goes to /find
  }
}

function pressed(event) {
  const count = options().length;
  if (event.key === "Escape") {
    if (!list.hidden || box.value) event.preventDefault();
    if (list.hidden) box.value = "";
    close();
  } else if (count && event.key === "ArrowDown") {
    event.preventDefault();
    choose((active + 1) % count);
  } else if (count && event.key === "ArrowUp") {
    event.preventDefault();
    choose((active <= 0 ? count : active) - 1);
  } else if (event.key === "Enter" && active >= 0) {
    event.preventDefault();
    location.assign(options()[active].dataset.address);
  }
}

function slash(event) {
  const where = event.target;
  const types = where.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(where.tagName);
  if (event.key !== "/" || types || event.ctrlKey || event.altKey || event.metaKey) return;
  event.preventDefault();
  box.focus();
  box.select();
}

if (box && list && told) {
  for (const [name, value] of Object.entries({
    role: "combobox", "aria-expanded": "false", "aria-controls": list.id,
    "aria-autocomplete": "list", autocomplete: "off",
  })) box.setAttribute(name, value);
  box.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, WAIT);
  });
  box.addEventListener("keydown", pressed);
  box.addEventListener("blur", () => setTimeout(close, 150)); // a click on a result comes first
  list.addEventListener("mousedown", (event) => {
    const chosen = event.target.closest("[role=option]");
    if (chosen && event.button === 0) {
      event.preventDefault();
      location.assign(chosen.dataset.address);
    }
  });
  document.addEventListener("keydown", slash);
}
