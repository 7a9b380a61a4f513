// The ladder's pages: a slip's link leads to its line, and what was typed last is kept before a page is left.

const LINE = /line=(\d+)/;

function showLine() {
  const found = LINE.exec(location.hash);
  const field = document.querySelector("textarea[data-lines]");
  if (!found || !field) return;
  const lines = field.value.split("\n");
  const line = Math.min(Number(found[1]), lines.length);
  const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  field.focus();
  field.setSelectionRange(start, start + lines[line - 1].length);
  const height = parseFloat(getComputedStyle(field).lineHeight);
  field.scrollTop = Math.max(0, (line - 6) * height);
}

addEventListener("hashchange", showLine);
showLine();

const form = document.getElementById("entry-form");
if (form) keepBeforeLeaving(form);

function keepBeforeLeaving(form) {
  let typed = 0;
  let sent = 0;
  let kept = 0;
  form.addEventListener("input", () => { typed += 1; });
  form.addEventListener("htmx:beforeRequest", () => { sent = typed; });
  form.addEventListener("htmx:afterRequest", (event) => { if (event.detail.successful) kept = sent; });
  const owed = () => typed > kept;
  document.addEventListener("click", async (event) => {
    const link = event.target.closest("a[href]");
    if (!link || !owed() || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    try {
      await fetch(form.action, { method: "POST", body: new FormData(form), headers: { "HX-Request": "true" } });
      kept = typed;
    } finally {
      location.assign(link.href);
    }
  });
  addEventListener("pagehide", () => {
    if (owed()) navigator.sendBeacon(form.action, new FormData(form));
  });
}
