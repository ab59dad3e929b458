// What is filled in and not sent stays when a page is left, and files can be dropped onto a form.

const person = document.querySelector('nav a[href="/account"]')?.textContent ?? "";
const ours = "unsent "; // begins every name of ours
const key = `${ours}${person} ${location.pathname}${location.search}`;
const sending = "sending";
let leaves = false; // by a link or a form of these pages, after which all but files is put back

const posted = (field) => field.form?.method === "post";
const isBox = (field) => field.type === "checkbox" || field.type === "radio";
const isFile = (field) => field.type === "file";
const shown = (field) => (isBox(field) ? field.checked : field.value);

function usual(field) {
  if (isBox(field)) return field.defaultChecked;
  if (field.tagName !== "SELECT") return field.defaultValue;
  const options = [...field.options];
  return (options.find((one) => one.defaultSelected) ?? options[0])?.value ?? "";
}

// Fields that are kept, by name, value of a box, and place among those that have the same.
function fields() {
  const found = new Map();
  for (const field of document.querySelectorAll("input, select, textarea")) {
    const kept = !isFile(field) && !["hidden", "password", "submit"].includes(field.type);
    if (!kept || !field.name || !posted(field)) continue;
    const name = `${field.name} ${isBox(field) ? field.value : ""}`;
    let place = 0;
    while (found.has(`${name} ${place}`)) place += 1;
    found.set(`${name} ${place}`, field);
  }
  return found;
}

function keep() {
  const unsent = {};
  for (const [name, field] of fields()) {
    if (shown(field) !== usual(field)) unsent[name] = [usual(field), shown(field)];
  }
  try {
    if (Object.keys(unsent).length) sessionStorage.setItem(key, JSON.stringify(unsent));
    else sessionStorage.removeItem(key);
  } catch {
    return Object.keys(unsent).length > 0; // no room, or not allowed: it is lost
  }
  return false;
}

// A form was sent from the page before: where that worked, nothing of it is unsent any more.
function settle() {
  const sent = sessionStorage.getItem(sending);
  sessionStorage.removeItem(sending);
  const refused = document.querySelector("[role=alert]") || location.pathname === "/log-in";
  const done = document.querySelector(".message") || sent !== key;
  if (sent && done && !refused) sessionStorage.removeItem(sent);
}

function putBack() {
  const unsent = JSON.parse(sessionStorage.getItem(key) ?? "{}");
  const changed = [];
  for (const [name, field] of fields()) {
    const [before, typed] = unsent[name] ?? [];
    // A field that somebody has set since is left as it is.
    if (typed === undefined || field.disabled || before !== usual(field)) continue;
    if (isBox(field)) field.checked = typed;
    else field.value = typed;
    field.closest("details:not([open])")?.setAttribute("open", "");
    changed.push(field);
  }
  keep();
  if (changed.length) tell(changed);
}

function tell(changed) {
  const words = document.createElement("p");
  words.className = "message";
  words.setAttribute("role", "status");
  const count = changed.length === 1 ? "1 field is as you left it" :
    `${changed.length} fields are as you left them`;
  words.textContent = `${count}, and not sent yet. `;
  const undo = document.createElement("button");
  undo.type = "button";
  undo.className = "quiet";
  undo.textContent = "As they were before";
  undo.addEventListener("click", () => {
    for (const field of changed) {
      if (isBox(field)) field.checked = usual(field);
      else field.value = usual(field);
    }
    keep();
    words.remove();
    document.querySelector("main h1")?.scrollIntoView();
  });
  words.append(undo);
  document.querySelector("main")?.prepend(words);
}

function forget() {
  for (const name of Object.keys(sessionStorage)) {
    if (name.startsWith(ours)) sessionStorage.removeItem(name);
  }
}

// The names of files that a field has, below it.
function list(field) {
  const label = field.closest("label") ?? field;
  let names = label.nextElementSibling;
  if (!names?.classList.contains("files")) {
    names = document.createElement("div");
    names.className = "files";
    names.setAttribute("role", "status");
    label.after(names);
  }
  const files = [...field.files];
  names.replaceChildren();
  if (!field.multiple && files.length < 2) return names;
  const items = document.createElement("ul");
  for (const file of files.slice(0, 20)) {
    const item = document.createElement("li");
    item.textContent = file.name;
    items.append(item);
  }
  names.append(items);
  if (files.length > 20) names.append(`and ${files.length - 20} more`);
  return names;
}

function drop(field, event) {
  const items = [...event.dataTransfer.items].filter((item) => item.kind === "file");
  const folders = items.filter((item) => item.webkitGetAsEntry?.()?.isDirectory);
  const files = items.filter((item) => !folders.includes(item)).map((item) => item.getAsFile());
  const chosen = new DataTransfer();
  const all = field.multiple ? [...field.files, ...files] : files.slice(0, 1);
  const seen = new Set();
  for (const file of all) {
    const name = `${file.name} ${file.size} ${file.lastModified}`;
    if (!seen.has(name)) chosen.items.add(file);
    seen.add(name);
  }
  if (files.length) {
    field.files = chosen.files;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
  const names = list(field);
  if (folders.length) names.append("A folder cannot be taken: drop its files. ");
  if (!field.multiple && files.length > 1) names.append(`One file is taken: ${files[0].name}`);
}

function dropsOnto(field) {
  const area = field.closest("label") ?? field;
  area.addEventListener("dragover", () => area.classList.add("over"));
  for (const name of ["dragleave", "drop"]) {
    area.addEventListener(name, () => area.classList.remove("over"));
  }
  area.addEventListener("drop", (event) => {
    event.preventDefault();
    drop(field, event);
  });
  field.addEventListener("change", () => list(field));
}

const uploads = [...document.querySelectorAll("input[type=file]")];
uploads.forEach(dropsOnto);
if (uploads.length) {
  // Elsewhere on the page a file that is dropped would be opened in its place.
  for (const name of ["dragover", "drop"]) {
    document.addEventListener(name, (event) => {
      if ([...event.dataTransfer.types].includes("Files")) event.preventDefault();
    });
  }
}

try {
  settle();
  putBack();
} catch {
  // Without storage nothing is put back.
}
for (const name of ["input", "change"]) document.addEventListener(name, keep);
document.addEventListener("submit", (event) => {
  leaves = true;
  if (event.target.method !== "post") return;
  if (event.submitter?.value === "log-out") forget();
  else sessionStorage.setItem(sending, key);
});
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href]");
  const stays = !link || link.hasAttribute("download") || link.getAttribute("href")[0] === "#";
  if (!stays && link.origin === location.origin && !link.target) leaves = true;
});
addEventListener("pageshow", (event) => {
  if (event.persisted) sessionStorage.removeItem(sending); // gone back to: it did not arrive
});
addEventListener("beforeunload", (event) => {
  const waits = uploads.some((field) => field.files.length);
  const unsent = [...fields().values()].some((field) => shown(field) !== usual(field));
  const isSent = sessionStorage.getItem(sending) === key;
  if (!isSent && (waits || (unsent && (!leaves || keep())))) event.preventDefault();
  leaves = false;
});
