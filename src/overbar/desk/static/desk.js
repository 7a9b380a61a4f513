// What every page of the desk shares: the change form of a week, and keeping notes.

const KEEP = "overbar-note:";

function openChanges(form, open) {
  form.classList.toggle("changing", open);
  form.querySelectorAll(".edit input, .edit select").forEach((field) => { field.disabled = !open; });
  form.querySelector("[data-keep]").hidden = !open;
  form.querySelector("[data-accept]").hidden = open;
  const toggle = form.querySelector("[data-change]");
  toggle.setAttribute("aria-expanded", String(open));
  toggle.textContent = open ? "Leave the numbers" : "Change numbers";
}

document.addEventListener("click", (event) => {
  const toggle = event.target.closest("[data-change]");
  if (toggle) {
    const form = toggle.closest("form");
    openChanges(form, !form.classList.contains("changing"));
    if (form.classList.contains("changing")) form.querySelector(".edit input").focus();
  }
  const copy = event.target.closest("[data-copy]");
  if (copy) copyText(document.querySelector(copy.dataset.copy), copy);
  const anew = event.target.closest("[data-anew]");
  if (anew) {
    const field = document.querySelector(anew.dataset.anew);
    field.value = field.defaultValue;
    localStorage.removeItem(noteKey(field));
    field.focus();
  }
});

async function copyText(field, button) {
  const said = button.parentElement.querySelector("[data-copied]");
  try {
    await navigator.clipboard.writeText(field.value);
    said.textContent = "Copied.";
  } catch {
    field.focus();
    field.select();
    said.textContent = "Selected: copy it with the keyboard.";
  }
}

// A note half written survives a lost connection or a closed page: it stays in this browser until sent.
function noteKey(field) {
  return KEEP + location.pathname + "#" + (field.id || field.name);
}

document.addEventListener("input", (event) => {
  if (event.target.matches("textarea[data-note], #reason")) {
    localStorage.setItem(noteKey(event.target), event.target.value);
  }
});

document.addEventListener("submit", (event) => {
  if (!event.target.hasAttribute("hx-post")) forget(event.target);
});
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful) forget(event.detail.elt);
});
document.addEventListener("htmx:sendError", () => {
  say("The desk did not answer. What you wrote is kept on this page; try again.");
});

function forget(element) {
  const form = element.closest?.("form");
  form?.querySelectorAll("textarea").forEach((field) => localStorage.removeItem(noteKey(field)));
}

function say(text) {
  let box = document.getElementById("said");
  if (!box) {
    box = document.createElement("p");
    box.id = "said";
    box.className = "notice";
    box.setAttribute("role", "alert");
    document.getElementById("main").prepend(box);
  }
  box.textContent = text;
}

function bringBackNotes(root) {
  root.querySelectorAll("textarea[data-note], #reason").forEach((field) => {
    const kept = localStorage.getItem(noteKey(field));
    if (kept && (field.id !== "reason" || !field.value)) field.value = kept;
  });
}
bringBackNotes(document);
