"use strict";
// The script of the page at the bench: it swaps parts, plays sounds, speaks, sends presses, and says
// when what is shown is old. What is shown is made by the program.

const STALE_MS = 25000, SURE_MS = 5000, REPLY_MS = 15000;
const body = document.body, stale = document.getElementById("stale"), live = document.getElementById("live");
const reply = document.getElementById("reply");
let source = null, heardAt = new Date(), isOver = false, isStale = true, watch = 0, again = 0;

// Parts ---------------------------------------------------------------------------------------

function swap(name, html) {
  const part = document.getElementById(name);
  if (!part || part.innerHTMLShown === html) return;
  if (part.classList.contains("sheet") && !part.hidden && html) { // somebody types there
    part.waiting = html;
    return;
  }
  part.innerHTMLShown = html;
  part.waiting = undefined;
  const word = part.contains(document.activeElement) ? document.activeElement.dataset.word : "";
  part.innerHTML = html;
  if (part.classList.contains("sheet") && !html) close(part);
  if (word) part.querySelector(`[data-word="${word}"]`)?.focus();
}

function take(event) {
  heard();
  const sent = JSON.parse(event.data);
  for (const [name, html] of Object.entries(sent.parts)) swap(name, html);
  if (sent.parts.journals !== undefined) follow();
  body.dataset.step = sent.step;
  if (sent.step > toldStep + 1) tell("", false); // what became of a press is old by then
  if (sent.over) over();
  enable();
  for (const cue of sent.cues) play(cue);
  if (sent.say) say(sent.say);
}

// The journal that is measured stays in sight where not all of them fit.
let followed = "";
function follow() {
  const table = document.getElementById("table"), row = table.querySelector("tr.asked");
  const name = row ? row.querySelector("th").textContent : "";
  if (row && name !== followed) table.scrollTop = row.offsetTop - table.clientHeight / 2;
  followed = name;
}

// Live or old ---------------------------------------------------------------------------------

function clock(at) { return at.toTimeString().slice(0, 8); }

function heard() {
  heardAt = new Date();
  clearTimeout(watch);
  watch = setTimeout(old, STALE_MS);
  if (!isStale) return;
  isStale = false;
  body.classList.remove("stale");
  stale.hidden = true;
  live.textContent = "Live";
  enable();
}

function old() {
  if (isStale && !stale.hidden || isOver) return;
  isStale = true;
  body.classList.add("stale");
  stale.textContent = `Not live since ${clock(heardAt)} - what you see may be old`;
  stale.hidden = false;
  live.textContent = "Not live";
  enable();
}

function over() {
  isOver = true;
  clearTimeout(watch);
  source.close();
  body.classList.add("over");
  stale.textContent = "Session over; this page is not live any more";
  stale.hidden = false;
  live.textContent = "Session over";
  enable();
  if (lock) lock.release();
}

function open() {
  clearTimeout(again);
  if (isOver) return;
  if (source) source.close();
  source = new EventSource("events");
  source.onmessage = take;
  source.addEventListener("tick", heard);
  source.onerror = () => {
    old();
    if (source.readyState === EventSource.CLOSED) again = setTimeout(open, 1000);
  };
}

window.addEventListener("offline", old);
window.addEventListener("online", open);
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") { awake(); if (isStale) open(); }
});

// The screen stays on, where the browser allows it ----------------------------------------------

let lock = null;
async function awake() {
  try { lock = await navigator.wakeLock.request("screen"); } catch { lock = null; }
}

// Sounds and speech -----------------------------------------------------------------------------

const sound = document.getElementById("sound"), speak = document.getElementById("speak");
const tones = new Map();
let audio = null, endsAt = 0, voice = body.dataset.speak === "yes";

async function tone(cue) {
  if (!tones.has(cue)) {
    const answer = await fetch(`sounds/${encodeURIComponent(cue)}.wav`);
    if (!answer.ok) throw new Error(answer.statusText);
    tones.set(cue, await audio.decodeAudioData(await answer.arrayBuffer()));
  }
  return tones.get(cue);
}

async function play(cue) {
  const on = audio;
  if (!on) return;
  try {
    const buffer = await tone(cue);
    if (on !== audio) return; // switched off meanwhile
    const node = on.createBufferSource();
    node.buffer = buffer;
    node.connect(on.destination);
    const at = Math.max(on.currentTime, endsAt);
    node.start(at);
    endsAt = at + node.buffer.duration;
  } catch { /* no sound is no reason to stop */ }
}

function say(words) {
  if (!voice || !window.speechSynthesis) return;
  speechSynthesis.cancel();
  const said = new SpeechSynthesisUtterance(words);
  said.lang = document.documentElement.lang;
  speechSynthesis.speak(said);
}

sound.addEventListener("click", () => {
  if (audio) { audio.close(); audio = null; } else { audio = new AudioContext(); endsAt = 0; play("kept"); }
  sound.setAttribute("aria-pressed", String(Boolean(audio)));
  sound.textContent = audio ? "Sound is on" : "Tap for sound";
});
speak.hidden = !window.speechSynthesis;
speak.setAttribute("aria-pressed", String(voice));
speak.addEventListener("click", () => {
  voice = !voice;
  speak.setAttribute("aria-pressed", String(voice));
  if (voice) say("Speaking"); else speechSynthesis.cancel();
});

// Presses -----------------------------------------------------------------------------------------

// A press is for what was on the screen as the finger went down.
let touchedStep = null, isSending = false, quiet = 0;
document.addEventListener("pointerdown", () => { touchedStep = body.dataset.step; }, true);
document.addEventListener("keydown", (event) => {
  touchedStep = body.dataset.step;
  if (event.key === "Escape") for (const part of document.querySelectorAll(".sheet:not([hidden])")) close(part);
}, true);

function enable() {
  const may = !isStale && !isOver;
  for (const button of document.querySelectorAll("#buttons button[data-word], #buttons button.do")) button.disabled = !may;
}

let toldStep = 0;
function tell(words, isRefused) {
  if (!reply) return;
  toldStep = Number(body.dataset.step);
  reply.textContent = words;
  reply.classList.toggle("refused", isRefused);
  clearTimeout(quiet);
  quiet = setTimeout(() => { reply.textContent = ""; }, REPLY_MS);
}

async function send(word, text, step) {
  isSending = true;
  try {
    const answer = await fetch("./", { method: "POST", body: new URLSearchParams({ word, text, step }), signal: AbortSignal.timeout(8000) });
    const words = await answer.text();
    tell(answer.status === 204 ? `${word}: done` : `Not done: ${words}`, answer.status !== 204);
    return answer.status === 204;
  } catch {
    tell("No answer came: look whether it was done", true);
    return false;
  } finally {
    isSending = false;
  }
}

// What cannot be undone is pressed twice.
function isSure(button) {
  if (!button.dataset.sure || button.classList.contains("sure")) { calm(button); return true; }
  button.before_ = button.innerHTML;
  button.classList.add("sure");
  button.innerHTML = "<b>Press again</b> <small></small>";
  button.querySelector("small").textContent = button.dataset.sure;
  button.calmer = setTimeout(() => calm(button), SURE_MS);
  return false;
}

function calm(button) {
  if (!button.classList.contains("sure")) return;
  clearTimeout(button.calmer);
  button.classList.remove("sure");
  button.innerHTML = button.before_;
}

function toggle(part, button) {
  for (const other of document.querySelectorAll(".sheet")) if (other !== part && !other.hidden) close(other);
  if (!part.hidden) { close(part); return; }
  part.hidden = false;
  part.step = body.dataset.step;
  button.setAttribute("aria-expanded", "true");
  part.querySelector("input, select")?.scrollIntoView({ block: "nearest" });
  enable();
}

function close(part) {
  part.hidden = true;
  document.querySelector(`[aria-controls="${part.id}"]`)?.setAttribute("aria-expanded", "false");
  if (part.waiting !== undefined) swap(part.id, part.waiting);
}

document.getElementById("buttons")?.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  const step = touchedStep ?? body.dataset.step;
  touchedStep = null;
  if (!button || button.disabled || isSending) return;
  const sheet = button.closest(".sheet");
  if ("close" in button.dataset) close(sheet);
  else if ("ready" in button.dataset) sheet.querySelector("input").value = button.dataset.ready;
  else if ("opens" in button.dataset) toggle(document.getElementById(button.getAttribute("aria-controls")), button);
  else if (button.dataset.word && isSure(button)) send(button.dataset.word, "", step);
});

document.getElementById("buttons")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target, sheet = form.closest(".sheet"), button = form.querySelector(".do");
  if (button.disabled || isSending || !isSure(button)) return;
  if (await send(form.dataset.word, form.elements.text.value, sheet.step)) {
    form.reset();
    close(sheet);
  } else sheet.step = body.dataset.step; // the words say why; what was typed stays, for how things stand now
});

awake();
open();
