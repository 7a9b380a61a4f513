// Today's session on the athlete's phone. Everything is kept on the phone first and sent when it can be.

const LINK = location.pathname.replace(/\/$/, "");
document.querySelector("[data-manifest]").href = `${LINK}/app.webmanifest`;
if ("serviceWorker" in navigator && window.isSecureContext) {
  navigator.serviceWorker.register("/sheet/static/worker.js", { scope: "/sheet/" }).catch(() => {});
}

// --- what is kept on the phone -----------------------------------------------------------------
const opened = new Promise((resolve, reject) => {
  const request = indexedDB.open("overbar-sheet", 1);
  request.onupgradeneeded = () => request.result.createObjectStore("kept");
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

async function shelf(mode, work) {
  const store = (await opened).transaction("kept", mode).objectStore("kept");
  const request = work(store);
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}
const keep = (key, value) => shelf("readwrite", (store) => store.put(value, `${LINK}:${key}`));
const kept = (key) => shelf("readonly", (store) => store.get(`${LINK}:${key}`));

// --- small builders ----------------------------------------------------------------------------
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name in element && typeof value === "boolean") element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...children);
  return element;
}
const $ = (query, root = document) => root.querySelector(query);
const clock = (s) => `${Math.floor(s / 60)}:${String(Math.floor(s % 60)).padStart(2, "0")}`;

// The desk says which day it is; without a network the phone counts on from there.
const dayNumber = () => Math.floor((Date.now() - new Date().getTimezoneOffset() * 60000) / 86400000);
function today() {
  const on = new Date(`${data.today}T12:00:00Z`);
  on.setUTCDate(on.getUTCDate() + dayNumber() - data.fetchedOn);
  return on.toISOString().slice(0, 10);
}

let data = null; // what the coach settled
let label = ""; // which session is open
let done = null; // what was done of it: {started, slots: [{exercise, sets: [...]}], ...}
let restEnds = 0;

// --- opening -----------------------------------------------------------------------------------
async function open() {
  data = (await kept("data")) || null;
  films = (await kept("films")) || [];
  if (data) await show();
  try {
    const answer = await fetch(`${LINK}/session.json`);
    if (!answer.ok) throw new Error((await answer.json().catch(() => ({}))).detail || "no sheet");
    const fresh = { ...(await answer.json()), fetchedOn: dayNumber() };
    const same = JSON.stringify(fresh) === JSON.stringify(data);
    data = fresh;
    await keep("data", data);
    if (!same) await show();
  } catch {
    if (!data) { $("#state").textContent = "No network, and nothing is kept on this phone yet. Open it once with a network."; return; }
  }
  for (const old of films.filter((one) => one.state !== "waiting" && one.week !== data.week)) await dropFilm(old);
  await send();
  await sendFilms();
}

async function show() {
  label = label || data.now || data.sessions[0]?.label || "";
  $("#rules ul").replaceChildren(...data.stop_rules.map((say) => make("li", {}, say)));
  const session = data.sessions.find((one) => one.label === label);
  const main = $("#main");
  main.replaceChildren();
  if (data.morning && !(await kept(`morning:${data.morning.on}`))) main.append(morning());
  if (!session) {
    $("#title").textContent = `Hello ${data.name}`;
    main.append(make("p", {}, "Your coach has not settled a week yet."));
    $("#finish").hidden = true;
    return;
  }
  $("#title").textContent = `${session.label}: ${session.title}`;
  done = (await kept(key())) || { started: Date.now(), slots: session.slots.map((slot) => ({ exercise: slot.exercise, sets: [] })) };
  main.append(days());
  if (data.cue) main.append(make("p", { class: "load" }, data.cue));
  const own = session.cautions.filter((say) => !data.stop_rules.includes(say));
  if (own.length) {
    main.append(make("div", { class: "caution" }, make("strong", {}, "Before and during"),
      make("ul", {}, ...own.map((say) => make("li", {}, say)))));
  }
  session.slots.forEach((slot, place) => main.append(paint(slot, place)));
  $("#finish").hidden = false;
  $("#finish").textContent = done.finished ? "Send more" : "Finish";
  sayState();
}

const key = () => `done:${data.week}:${label}`;

function days() {
  return make("div", { class: "days", role: "group", "aria-label": "Sessions of the week" }, ...data.sessions.map((one) =>
    make("button", {
      "aria-pressed": String(one.label === label),
      onclick: async () => { label = one.label; await show(); },
    }, `${one.label}${one.done ? " ✓" : ""}`)));
}

// --- one exercise ------------------------------------------------------------------------------
function paint(slot, place) {
  const card = $("#slot").content.cloneNode(true).firstElementChild;
  const mine = done.slots[place];
  const swapped = slot.swaps.find((swap) => swap.exercise === mine.exercise);
  $("h2", card).textContent = swapped ? swapped.name : slot.name;
  $(".dose", card).textContent = dose(slot);
  $(".load", card).textContent = slot.load.kg || slot.load.pieces.length ? slot.load.say : "";
  const notes = [slot.note, slot.reps_left != null ? `keep ${slot.reps_left} in reserve` : "", slot.film ? "film this" : "", `rest ${clock(slot.rest_s)}`];
  $(".note", card).textContent = notes.filter(Boolean).join(" · ");
  if (isTries(slot, place)) $(".note", card).after(triesLeft(slot, place));
  if (slot.film) $(".ticks", card).after(filmsOf(slot, place));
  const ticks = $(".ticks", card);
  ticks.setAttribute("aria-label", `Sets of ${slot.name}`);
  const count = Math.max(isTries(slot, place) ? planned(slot) : slot.sets, mine.sets.length);
  for (let n = 0; n < count; n += 1) ticks.append(tick(slot, place, n));
  ticks.append(make("button", { "aria-label": "One set more", onclick: () => { add(slot, place, mine.sets.length); } }, "+"));
  if (mine.openSet != null && mine.sets[mine.openSet]) adjust($(".adjust", card), slot, place, mine.openSet);
  const swaps = $(".swap div", card);
  const choices = [{ exercise: slot.exercise, name: slot.name }, ...slot.swaps].filter((one) => one.exercise !== mine.exercise);
  swaps.append(...choices.map((one) => make("button", { onclick: () => change(place, () => { mine.exercise = one.exercise; }) }, one.name)));
  swaps.append(make("p", { class: "soft" }, "If it hurts: 3 or 4 of 10, take one of these if it is painless. 5 or more: leave it out, and write to your coach."));
  return card;
}

// --- tries of the skill: one tick is one try, and each says how it went ----------------------------
const OUTCOMES = [["valid", "over, both arms straight"], ["over_not_clean", "over, not clean"], ["failed", "not over"]];
const SAID = { valid: "over", over_not_clean: "not clean", failed: "not over" };
const isTries = (slot, place) => slot.tries && done.slots[place].exercise === slot.exercise;
const planned = (slot) => slot.sets * Math.max(slot.high, 1);

function triesLeft(slot, place) {
  const known = data.tries || { done_today: 0, week: planned(slot), done_week: 0, stop: "", lines: [] };
  const here = done.slots[place].sets.length;
  const onDay = data.sessions.find((one) => one.label === label).on === today();
  const before = onDay ? known.done_today : 0;
  const counted = Math.max(here, before);
  const week = Math.max(0, known.week - known.done_week - Math.max(0, here - before));
  const box = make("div", { class: "caution tries" }, make("strong", {},
    `${Math.max(0, planned(slot) - counted)} of ${planned(slot)} tries left here, ${week} of ${known.week} this week.`));
  if (known.stop && onDay) box.append(make("p", { class: "warn" }, `Over for today: ${known.stop}.`));
  if (known.lines.length) box.append(make("ul", {}, ...known.lines.map((say) => make("li", {}, say))));
  return box;
}

function dose(slot) {
  if (!slot.high) return slot.seconds ? `${slot.sets} × ${slot.seconds} s` : `${slot.sets} ×`;
  const reps = slot.low === slot.high ? slot.high : `${slot.low}–${slot.high}`;
  return `${slot.sets} × ${reps}${slot.seconds ? `, ${slot.seconds} s each` : ""}`;
}

function tick(slot, place, n) {
  const mine = done.slots[place];
  const set = mine.sets[n];
  const button = make("button", { "aria-pressed": String(Boolean(set)) });
  if (set) {
    button.classList.add("done");
    button.classList.toggle("open", mine.openSet === n);
    if (isTries(slot, place)) button.append(`${n + 1}`, make("small", {}, SAID[set.outcome] || "how?"));
    else button.append(slot.high ? `${set.reps}` : `${set.seconds ?? ""} s`, make("small", {}, set.reps_left == null ? "done" : `${set.reps_left} left`));
    button.addEventListener("click", () => change(place, () => { mine.openSet = mine.openSet === n ? null : n; }));
  } else {
    button.append(`${n + 1}`);
    button.addEventListener("click", () => add(slot, place, mine.sets.length));
  }
  return button;
}

function add(slot, place, n) {
  change(place, () => {
    const mine = done.slots[place];
    mine.sets[n] = { reps: isTries(slot, place) ? 1 : slot.high || 0, added_kg: slot.load.kg, reps_left: null, seconds: slot.seconds };
    mine.openSet = n;
    restEnds = Date.now() + slot.rest_s * 1000;
    done.restEnds = restEnds;
  });
}

async function change(place, work) {
  work();
  await keep(key(), done);
  const session = data.sessions.find((one) => one.label === label);
  const cards = document.querySelectorAll("article.slot");
  cards[place].replaceWith(paint(session.slots[place], place));
  rest();
}

function adjust(box, slot, place, n) {
  const set = done.slots[place].sets[n];
  box.hidden = false;
  if (set.sent) {
    box.append(make("p", {}, "Already with your coach. If it is wrong, write to your coach."));
    return;
  }
  if (isTries(slot, place)) {
    box.append(make("p", {}, "How did it go?"), make("div", { class: "choice", role: "group", "aria-label": `Try ${n + 1}` },
      ...OUTCOMES.map(([outcome, say]) => make("button", { "aria-pressed": String(set.outcome === outcome), onclick: () => change(place, () => { set.outcome = outcome; }) }, say))));
    box.append(takeOut(place, n));
    return;
  }
  const field = slot.high ? "reps" : "seconds";
  const by = slot.high ? 1 : 5;
  const move = (way) => change(place, () => { set[field] = Math.max(0, (set[field] || 0) + way * by); });
  box.append(make("div", { class: "step" },
    make("button", { "aria-label": `fewer ${field}`, onclick: () => move(-1) }, "−"),
    make("output", {}, `${set[field] ?? 0}`), make("span", {}, field),
    make("button", { "aria-label": `more ${field}`, onclick: () => move(1) }, "+")));
  const loads = make("select", { "aria-label": "Load", onchange: (event) => change(place, () => { set.added_kg = Number(event.target.value); }) });
  for (const load of data.loads) {
    const option = make("option", { value: load.kg }, load.say);
    option.selected = Math.abs(load.kg - set.added_kg) < 0.005;
    loads.append(option);
  }
  if (slot.load.kg || slot.load.pieces.length || slot.high) box.append(loads);
  if (slot.high) {
    box.append(make("p", {}, "How many more would have gone?"), make("div", { class: "scale" }, ...[0, 1, 2, 3, 4, 5].map((left) =>
      make("button", { "aria-pressed": String(set.reps_left === left), onclick: () => change(place, () => { set.reps_left = left; }) }, left === 5 ? "5+" : `${left}`))));
  }
  box.append(takeOut(place, n));
}

function takeOut(place, n) {
  return make("button", { onclick: () => change(place, () => { done.slots[place].sets.splice(n, 1); done.slots[place].openSet = null; }) }, "Not done: take it out");
}

// --- films: kept on the phone until the desk says it has them ---------------------------------------
const TICKS = [
  ["coach", "my coach reads and looks at it (needed)"],
  ["keep", "it may be kept longer than 90 days"],
  ["show", "it may be shown to other people"],
  ["improve", "it may be used to improve the measuring"],
];

function filmsOf(slot, place) {
  const box = make("div", { class: "films" }, make("button", { onclick: () => filmDialog(slot, place) }, "Add a film"));
  for (const film of films.filter((one) => one.week === data.week && one.label === label && one.place === place)) {
    const said = { waiting: "waiting to send", sent: "with your coach", refused: film.why }[film.state];
    const line = make("p", { class: "soft" }, `${film.name}: ${film.state === "waiting" && film.share != null ? `${film.share} % sent` : said} `);
    if (film.state === "refused") line.append(make("button", { class: "small", onclick: () => again(film) }, "Send again"), " ");
    if (film.state !== "sent") line.append(make("button", { class: "small", onclick: () => dropFilm(film) }, "Take it out"));
    box.append(line);
  }
  return box;
}

function filmDialog(slot, place) {
  const dialog = $("#filmed");
  const chosen = make("input", { type: "file", accept: "video/*", required: true, "aria-label": "The film" });
  const ticks = TICKS.map(([tick, say]) => [tick, make("input", { type: "checkbox", required: tick === "coach" }), say]);
  const trouble = make("p", { class: "warn", hidden: true });
  const form = make("form", { class: "end" },
    make("h2", {}, "A film for your coach"),
    make("p", {}, "From the side, phone upright on a stand at chest height, four to six metres away, the whole of you and the bar in the picture, no zoom. One athlete on the bar; whoever else can be seen has agreed."),
    chosen,
    make("div", {}, make("p", {}, "I agree that"), ...ticks.map(([, box, say]) => make("label", { class: "tick" }, box, say)),
      make("p", { class: "soft" }, "Saying no to the last three costs nothing. Sound, place and device are left out; ask your coach to erase it whenever you like.")),
    trouble,
    make("button", { class: "main" }, "Keep and send"),
    make("button", { type: "button", onclick: () => dialog.close() }, "Back to the session"));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const file = chosen.files[0];
    const mine = done.slots[place];
    const film = {
      id: `${Date.now()}`, week: data.week, label, place, name: file.name || "film", state: "waiting", exercise: mine.exercise,
      filmed: new Date(file.lastModified || Date.now()).toISOString(), added_kg: (mine.sets.at(-1) || { added_kg: slot.load.kg }).added_kg,
      may: ticks.filter(([, box]) => box.checked).map(([tick]) => tick).join(","),
    };
    try {
      await keep(`film:${film.id}`, file);
      await keepFilms([...films, film]);
    } catch {
      trouble.hidden = false;
      trouble.textContent = "This phone has no room to keep it. Send it when there is a network, or free some space.";
      return;
    }
    dialog.close();
    await sendFilms();
  });
  dialog.replaceChildren(form);
  dialog.showModal();
}

let films = []; // what was filmed, without the pictures
async function keepFilms(list) {
  films = list;
  await keep("films", films.map(({ share, ...film }) => film));
  repaintFilms();
}
function repaintFilms() {
  const session = data?.sessions.find((one) => one.label === label);
  const cards = document.querySelectorAll("article.slot");
  session?.slots.forEach((slot, place) => { if (slot.film) cards[place]?.querySelector(".films")?.replaceWith(filmsOf(slot, place)); });
  sayState();
}
async function dropFilm(film) {
  await shelf("readwrite", (store) => store.delete(`${LINK}:film:${film.id}`));
  await keepFilms(films.filter((one) => one.id !== film.id));
}

async function again(film) {
  await keepFilms(films.map((one) => (one.id === film.id ? { ...one, state: "waiting" } : one)));
  await sendFilms();
}

let sendingFilms = false;
async function sendFilms() {
  if (sendingFilms) return;
  sendingFilms = true;
  try {
    let film = null;
    while ((film = films.find((one) => one.state === "waiting"))) {
      const file = await kept(`film:${film.id}`);
      const answer = file ? await upload(film, file) : { status: 400, detail: "the phone no longer has it" };
      if (answer.status === 0 || answer.status >= 500) break;
      const now = answer.status < 300 ? { state: "sent" } : { state: "refused", why: answer.detail || "It could not be taken." };
      if (now.state === "sent") await shelf("readwrite", (store) => store.delete(`${LINK}:film:${film.id}`));
      await keepFilms(films.map((one) => (one.id === film.id ? { ...one, ...now, share: null } : one)));
    }
  } finally {
    sendingFilms = false;
    films.forEach((one) => { one.share = null; });
    repaintFilms();
  }
}

function upload(film, file) {
  const told = new URLSearchParams({ name: film.name, filmed: film.filmed, exercise: film.exercise, may: film.may, added_kg: film.added_kg });
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.open("POST", `${LINK}/film?${told}`);
    request.setRequestHeader("Accept", "application/json");
    request.upload.onprogress = (event) => { if (event.lengthComputable) { film.share = Math.floor((event.loaded / event.total) * 100); repaintFilms(); } };
    request.onload = () => {
      let detail = "";
      try { detail = JSON.parse(request.responseText).detail; } catch { /* no reason was given */ }
      resolve({ status: request.status, detail });
    };
    request.onerror = () => resolve({ status: 0 });
    request.onabort = request.onerror;
    request.send(file);
  });
}

// --- the rest, which runs on while the phone is locked -------------------------------------------
function rest() {
  const left = ((done?.restEnds || 0) - Date.now()) / 1000;
  const box = $("#rest");
  if (left > 0) {
    box.textContent = clock(left);
    box.dataset.on = "yes";
  } else if (box.dataset.on) {
    box.textContent = "go";
    delete box.dataset.on;
    navigator.vibrate?.([200, 100, 200]);
  }
}
setInterval(rest, 500);

// --- questions ---------------------------------------------------------------------------------
function scale(name, chosen, choose) {
  const box = make("div", { class: "scale", role: "group", "aria-label": name });
  const paintScale = () => box.replaceChildren(...Array.from({ length: 11 }, (_, n) =>
    make("button", { type: "button", "aria-pressed": String(chosen === n), onclick: () => { chosen = n; choose(n); paintScale(); } }, `${n}`)));
  paintScale();
  return box;
}

function morning() {
  const asked = data.morning;
  const box = make("section", { class: "slot" }, make("h2", {}, `${asked.site}${asked.side ? ` (${asked.side})` : ""}: how was it the next morning?`));
  const night = make("input", { type: "checkbox" });
  box.append(scale("Pain next morning, 0 to 10", null, async (score) => {
    await queue({ on: today(), label: "", sets: [], pain: [], morning: { ...asked, next_morning: score, at_night: night.checked }, done: true });
    await keep(`morning:${asked.on}`, true);
    box.replaceChildren(make("p", {}, score >= data.pain.stop_at ? "Thank you. Do not load it today; write to your coach." : "Thank you."));
  }), make("label", { class: "tick" }, night, "it woke me, or did not ease with any position"));
  return box;
}

function finishDialog() {
  const dialog = $("#end");
  const answers = { worst: 0, site: data.sites[0]?.id || "", side: "", effort: null, flags: [] };
  const warn = make("p", { class: "warn", hidden: true });
  const tell = () => {
    const flagged = data.flags.find((flag) => answers.flags.includes(flag.id));
    const stop = answers.worst >= data.pain.stop_at;
    warn.hidden = !flagged && answers.worst < data.pain.ease_at;
    warn.textContent = flagged ? `Stop training. See ${flagged.see}, ${flagged.within}. Tell your coach.`
      : stop ? "Stop this work and write to your coach today. No one here can say what it is: have someone look at it who can."
        : "Your coach changes the exercise. Tomorrow morning you are asked again.";
  };
  const where = make("select", { "aria-label": "Where" }, ...data.sites.map((site) => make("option", { value: site.id }, site.name)));
  where.addEventListener("change", () => { answers.site = where.value; });
  const side = make("select", { "aria-label": "Side" }, ...[["", "both or middle"], ["left", "left"], ["right", "right"]].map(([value, name]) => make("option", { value }, name)));
  side.addEventListener("change", () => { answers.side = side.value; });
  const place = make("div", { hidden: true }, where, side);
  const mass = make("input", { inputmode: "decimal", "aria-label": `Body mass, ${data.unit}`, placeholder: `body mass today, ${data.unit} (if you know)` });
  const signs = make("details", {}, make("summary", {}, "Any of these signs?"), ...data.flags.map((flag) => {
    const box = make("input", { type: "checkbox", onchange: (event) => {
      answers.flags = event.target.checked ? [...answers.flags, flag.id] : answers.flags.filter((id) => id !== flag.id);
      tell();
    } });
    return make("label", { class: "tick" }, box, flag.say);
  }));
  dialog.replaceChildren(make("form", { method: "dialog", class: "end" },
    make("h2", {}, "How was it?"),
    make("div", {}, make("p", {}, "Worst pain, 0 to 10"), scale("Worst pain, 0 to 10", 0, (score) => { answers.worst = score; place.hidden = score === 0; tell(); }), place, warn),
    signs,
    make("div", {}, make("p", {}, "Effort, 0 to 10"), scale("Effort, 0 to 10", null, (score) => { answers.effort = score; })),
    mass,
    make("button", { class: "main", type: "button", onclick: () => finish(answers, mass.value, dialog) }, "Keep and send"),
    make("button", {}, "Back to the session")));
  dialog.showModal();
}

async function finish(answers, massText, dialog) {
  const value = Number(massText.replace(",", "."));
  const kg = massText.trim() && Number.isFinite(value) ? value * (data.unit === "lb" ? 0.45359237 : 1) : null;
  const session = data.sessions.find((one) => one.label === label);
  const pain = answers.worst > 0 || answers.flags.length
    ? [{ site: answers.site, side: answers.side, worst: answers.worst, flags: answers.flags }] : [];
  const minutes = Math.min(600, Math.round((Date.now() - done.started) / 60000));
  await queue({
    on: today(),
    label: session.label,
    sets: done.slots.flatMap((slot) => slot.sets.map((set) => ({ exercise: slot.exercise, reps: set.reps, added_kg: set.added_kg, reps_left: set.reps_left, seconds: set.seconds }))),
    tries: session.slots.flatMap((slot, place) => isTries(slot, place)
      ? done.slots[place].sets.flatMap((set, n) => set.outcome ? [{ n: n + 1, outcome: set.outcome }] : []) : []),
    pain,
    effort: answers.effort,
    minutes,
    body_mass_kg: kg && kg >= 30 && kg <= 250 ? Number(kg.toFixed(2)) : null,
    done: true,
  });
  // What was sent stays as it is: a set changed afterwards would stand twice in the log.
  done.slots.forEach((slot) => { slot.openSet = null; slot.sets.forEach((set) => { set.sent = true; }); });
  done.finished = true;
  await keep(key(), done);
  dialog.close();
  $("#finish").textContent = "Send more";
  await show();
}

// --- sending: kept until the desk says it has it --------------------------------------------------
async function queue(session) {
  const waiting = (await kept("out")) || [];
  await keep("out", [...waiting, session]);
  await send();
}

let sending = false;
async function send() {
  if (sending) return;
  sending = true;
  try {
    let waiting = (await kept("out")) || [];
    while (waiting.length) {
      const answer = await fetch(`${LINK}/log`, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(waiting[0]) });
      if (!answer.ok) {
        if (answer.status < 500) $("#state").textContent = (await answer.json().catch(() => ({}))).detail || "It could not be taken.";
        break;
      }
      waiting = ((await kept("out")) || []).slice(1);
      await keep("out", waiting);
    }
  } catch {
    // No network: it stays on the phone and goes when there is one.
  } finally {
    sending = false;
    sayState();
  }
}

async function sayState() {
  const waiting = ((await kept("out")) || []).length;
  const toSend = films.filter((one) => one.state === "waiting").length;
  const where = navigator.onLine ? "" : "no network; everything is kept on this phone";
  $("#state").textContent = [data ? today() : "", waiting ? `waiting to send: ${waiting}` : "", toSend ? `films waiting: ${toSend}` : "", where].filter(Boolean).join(" · ");
}

const sendAll = async () => { await send(); await sendFilms(); };
window.addEventListener("online", sendAll);
document.addEventListener("visibilitychange", () => { if (!document.hidden) sendAll(); });
$("#stop").addEventListener("click", () => $("#rules").showModal());
$("#finish").addEventListener("click", finishDialog);
open();
