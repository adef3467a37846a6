// Every form works without this. With it: pages are swapped in place, what is typed waits for a lost server and is sent
// later under the same change id, and what others change appears by itself. Nothing here needs a secure context.
"use strict";
(() => {
  const QUEUE = "backdrive-unsent", DRAFT = "backdrive-draft:";
  const body = () => document.body;
  const say = (text) => { const e = document.getElementById("said"); if (e) e.textContent = text; };
  const store = {
    read(key, or) { try { return JSON.parse(localStorage.getItem(key)) ?? or; } catch { return or; } },
    write(key, value) { try { value === null ? localStorage.removeItem(key) : localStorage.setItem(key, JSON.stringify(value)); return true; } catch { return false; } },
  };
  const id = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (b) => b.toString(16).padStart(2, "0")).join("");
  const mine = new Set();

  // What stands on the page, to see what a swap changed.
  const watched = () => new Map([...document.querySelectorAll("[data-watch]")].map((e) => [e.dataset.watch, e.textContent.trim()]));
  function mark(before) {
    for (const e of document.querySelectorAll("[data-watch]")) {
      const was = before.get(e.dataset.watch), now = e.textContent.trim();
      if (was === undefined || was === now) continue;
      const tag = document.createElement("span");
      tag.className = "was";
      tag.textContent = body().dataset.was + " " + was;
      e.after(tag);
      setTimeout(() => tag.remove(), 10000);
    }
  }

  // Puts a page in place of the one that is there; focus and scrolling stay where they can.
  function show(html, url, push) {
    const next = new DOMParser().parseFromString(html, "text/html");
    const before = watched(), sentence = document.querySelector("[data-speak]")?.textContent;
    const focused = document.activeElement?.name, value = document.activeElement?.value;
    const same = new URL(url, location.href).pathname === location.pathname;
    const at = scrollY;
    document.title = next.title;
    document.documentElement.dataset.theme = next.documentElement.dataset.theme;
    body().replaceWith(next.body);
    if (push) history.pushState(null, "", url);
    ready();
    if (same) {
      scrollTo(0, at);
      const again = focused && [...document.getElementsByName(focused)].find((e) => e.value === value || e.type === "text");
      again?.focus();
    } else {
      const hash = new URL(url, location.href).hash.slice(1);
      const to = hash && document.getElementById(hash);
      if (to) { to.scrollIntoView(); (to.querySelector("input:not([type=hidden])") || to).focus(); }
      else { scrollTo(0, 0); (document.querySelector("[autofocus]") || document.getElementById("panel") || document.getElementById("main"))?.focus({ preventScroll: true }); }
    }
    mark(before);
    const now = document.querySelector("[data-speak]")?.textContent;
    if (now && now !== sentence) say(now);
  }
  // Of pages that were asked for one after the other only the newest is shown, whichever comes last.
  let turn = 0;
  async function go(url, push = true) {
    const mine = ++turn;
    try {
      const answer = await fetch(url, { headers: { "x-swap": "1" } });
      if (!(answer.headers.get("content-type") || "").startsWith("text/html")) { location.href = url; return; }
      const html = await answer.text();
      if (mine !== turn) return;
      show(html, answer.url + new URL(url, location.href).hash, push);
      lost(false);
    } catch { lost(true); }
  }

  // Unsent changes.
  const waiting = () => store.read(QUEUE, []);
  let gone = false;
  function lost(now) {
    gone = now;
    const e = document.getElementById("link-lost"), n = waiting().length;
    if (!e) return;
    e.textContent = (now ? body().dataset.lost + " " : "") + (n ? body().dataset.unsent.replace("{n}", n) : "");
  }
  const send = (entry) => fetch(entry.url, { method: "POST", headers: { "content-type": "application/x-www-form-urlencoded" }, body: entry.body });
  let flushing = false;
  async function flush() {
    if (flushing || !waiting().length) { lost(gone); return; }
    flushing = true;
    let sent = 0, last = null;
    try {
      while (waiting().length) {
        const entry = waiting()[0];
        const answer = await send(entry);
        if (answer.status >= 500 || answer.status === 403) break;
        last = { answer, html: await answer.text() };
        store.write(QUEUE, waiting().slice(1));
        sent += 1;
        // A value that both wrote, or that cannot be taken, is asked about now; what waits behind it is sent after that.
        if (!answer.ok) break;
      }
      gone = false;
    } catch { gone = true; }
    flushing = false;
    if (last && !last.answer.ok) show(last.html, location.href, false);
    else if (sent) await go(location.href, false);
    lost(gone);
    if (sent) say(body().dataset.sent.replace("{n}", sent));
  }

  async function submit(form, button) {
    const data = new FormData(form, button && button.name ? button : undefined);
    if (data.has("change")) { const change = id(); mine.add(change); data.set("change", change); }
    const pairs = new URLSearchParams([...data].filter(([, v]) => typeof v === "string"));
    const url = form.action;
    const entry = { url, body: pairs.toString() };
    try {
      if (waiting().length) throw new Error("others wait");
      const answer = await send(entry);
      const html = await answer.text();
      turn += 1;
      drop(form);
      show(html, answer.redirected ? answer.url + hashOf(data) : location.href, answer.redirected && answer.url !== location.href);
      lost(false);
    } catch {
      const keepable = data.has("change") && store.write(QUEUE, [...waiting(), entry]);
      if (!keepable) { lost(true); return; }
      drop(form);
      lost(true);
      flush();
    }
  }
  const hashOf = (data) => { const then = String(data.get("then") || ""); const at = then.indexOf("#"); return at < 0 ? "" : then.slice(at); };

  // What is typed and not yet sent, field by field.
  const draftKey = (form) => DRAFT + location.pathname + "|" + new URL(form.action).pathname + "|" + ([...form.elements].find((e) => e.name?.startsWith("f."))?.name || "");
  const draftable = (e) => e.name && e.type !== "hidden" && e.type !== "file" && e.type !== "password";
  function drop(form) { store.write(draftKey(form), null); }
  function keepDraft(form) {
    if (form.method !== "post" || !form.elements.namedItem("change") || form.querySelector("[data-try]")) return;
    const values = [...form.elements].filter((e) => draftable(e) && (e.type !== "radio" || e.checked)).map((e) => [e.name, e.value]);
    // The revision that was seen while typing goes along: what others write meanwhile is then asked about.
    const seen = form.elements.namedItem("from")?.value;
    store.write(draftKey(form), { seen: store.read(draftKey(form), {}).seen ?? seen, values });
  }
  function restore(form) {
    const draft = store.read(draftKey(form), null);
    if (!draft?.values) return;
    const from = form.elements.namedItem("from");
    if (from && draft.seen) from.value = draft.seen;
    for (const [name, value] of draft.values) {
      for (const e of [...form.elements].filter((e) => e.name === name && draftable(e))) {
        if (e.type === "radio") e.checked = e.value === value;
        else if (!e.value) e.value = value;
      }
    }
  }

  // A pad for gloves, for fingers only; a keyboard needs none.
  function pad(form) {
    const fields = [...form.querySelectorAll("input.number")];
    if (!fields.length || !matchMedia("(pointer: coarse)").matches || form.querySelector(".keys")) return;
    let field = fields[0];
    const keys = document.createElement("div");
    keys.className = "keys on";
    const comma = body().dataset.comma || ".";
    for (const k of ["7", "8", "9", "⌫", "4", "5", "6", comma, "1", "2", "3", "0"]) {
      const b = document.createElement("button");
      b.type = "button"; b.textContent = k;
      b.addEventListener("click", () => {
        field.value = k === "⌫" ? field.value.slice(0, -1) : field.value + k;
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      keys.append(b);
    }
    for (const f of fields) { f.inputMode = "none"; f.addEventListener("focus", () => { field = f; }); }
    (form.querySelector(".actions") || form.lastElementChild).before(keys);
  }

  // Steppers of a lever: a step is about a twentieth, and is tried at once.
  function stepper(form) {
    const field = form.querySelector("input.number"), trying = form.querySelector("[data-try]");
    if (!trying || form.querySelector(".step")) return;
    for (const radio of form.querySelectorAll("input[type=radio]")) radio.addEventListener("change", () => form.requestSubmit(trying));
    if (!field) return;
    const comma = field.value.includes(",");
    const value = Number(field.value.replace(",", "."));
    if (!field.value || !isFinite(value)) return;
    const step = 10 ** Math.floor(Math.log10(Math.abs(value) || 1)) / (String(Math.abs(value))[0] < "3" ? 20 : 5);
    for (const [sign, name] of [[-1, "−"], [1, "+"]]) {
      const b = document.createElement("button");
      b.type = "button"; b.className = "step"; b.textContent = name;
      b.setAttribute("aria-label", name + " " + form.querySelector("legend").textContent);
      b.addEventListener("click", () => {
        const next = Number((Number(field.value.replace(",", ".")) + sign * step).toPrecision(6));
        field.value = comma ? String(next).replace(".", ",") : String(next);
        form.requestSubmit(trying);
      });
      sign < 0 ? field.before(b) : field.after(b);
    }
  }

  async function later(e) {
    try {
      const answer = await fetch(e.dataset.src, { headers: { "x-part": "1" } });
      const part = document.createElement("div");
      part.innerHTML = await answer.text();
      if (answer.ok) grow(e, part);
    } catch { /* the link that stands there still leads to it; what is being worked out is looked at again */ }
    const going = e.querySelector("[data-again]");
    if (going) setTimeout(() => { if (e.isConnected) later(e); }, Number(going.dataset.again));
    else e.removeAttribute("aria-busy");
  }
  // Progress moves in place, so that a finger on its button does not lose it.
  function grow(e, part) {
    const bar = e.querySelector("progress"), next = part.querySelector("progress");
    if (!bar || !next) { e.replaceChildren(...part.childNodes); return; }
    bar.value = next.value;
    e.querySelector(".far").textContent = part.querySelector(".far").textContent;
  }

  let stream = null;
  function listen() {
    stream?.close();
    stream = new EventSource("/news?job=" + encodeURIComponent(body().dataset.job || ""));
    stream.onopen = () => { if (gone) { gone = false; flush(); } };
    stream.onerror = () => lost(true);
    stream.onmessage = (m) => {
      const news = JSON.parse(m.data);
      if (mine.has(news.change)) return;
      const touched = (e) => draftable(e) && (e.type === "radio" ? e.checked !== e.defaultChecked : e.tagName !== "SELECT" && e.value !== e.defaultValue);
      // A signature that is being drawn must not be wiped by a page made anew.
      const typing = document.querySelector(".sign[data-drawn]") || [...document.querySelectorAll("form[method=post]")].some((form) => [...form.elements].some(touched));
      const text = body().dataset.others.replace("{who}", news.who).replace("{device}", news.device);
      if (typing) say(text); else go(location.href, false).then(() => say(text));
    };
  }

  function ready() {
    for (const form of document.querySelectorAll("form")) { restore(form); pad(form); stepper(form); }
    document.querySelectorAll(".later[data-src]").forEach(later);
    const rail = document.querySelector(".rail"), stage = rail?.querySelector("[aria-current]:not(.more)");
    if (stage) rail.scrollLeft = stage.offsetLeft - (rail.clientWidth - stage.offsetWidth) / 2;
    document.dispatchEvent(new Event("shown"));
    lost(gone);
    if (listen.job !== body().dataset.job || !stream) { listen.job = body().dataset.job; listen(); }
  }

  document.addEventListener("submit", (event) => {
    const form = event.target, button = event.submitter;
    if (button?.dataset.skip !== undefined) { event.preventDefault(); drop(form); const then = form.elements.namedItem("then"); go(then ? then.value : location.href); return; }
    if (form.enctype === "multipart/form-data") return;
    event.preventDefault();
    if ((button?.getAttribute("formmethod") || form.method) === "get") {
      go((button?.getAttribute("formaction") || form.action).split("?")[0] + "?" + new URLSearchParams(new FormData(form)));
      return;
    }
    submit(form, button);
  });
  document.addEventListener("click", (event) => {
    const a = event.target.closest("a[href]");
    if (!a || event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || a.hasAttribute("download") || a.target) return;
    const url = new URL(a.href, location.href);
    if (url.origin !== location.origin) return;
    if (url.pathname === location.pathname && url.search === location.search && url.hash) return;
    event.preventDefault();
    go(url.href);
  });
  document.addEventListener("input", (event) => { if (event.target.form) keepDraft(event.target.form); });
  document.addEventListener("keydown", (event) => {
    const panel = document.getElementById("panel");
    if (event.key === "Escape" && panel) go(panel.dataset.close);
    if (event.key === "?" && event.target.classList?.contains("number")) { event.preventDefault(); event.target.form.querySelector("[value=unknown]")?.click(); }
    if (["ArrowRight", "ArrowLeft", "ArrowDown", "ArrowUp"].includes(event.key)) {
      const links = [...document.querySelectorAll(".picture a")], at = links.indexOf(document.activeElement?.closest?.(".picture a"));
      if (at >= 0) { event.preventDefault(); links[(at + (["ArrowRight", "ArrowDown"].includes(event.key) ? 1 : links.length - 1)) % links.length].focus(); }
    }
  });
  addEventListener("popstate", () => go(location.href, false));
  addEventListener("online", flush);
  // Only a page that is seen listens: a browser opens six connections to one host, and pages left behind would hold them.
  function deaf() { stream?.close(); stream = null; }
  document.addEventListener("visibilitychange", () => { if (document.hidden) deaf(); else { flush(); listen(); } });
  addEventListener("pagehide", deaf);
  addEventListener("pageshow", (event) => { if (event.persisted) { flush(); listen(); } });
  setInterval(() => { if (waiting().length) flush(); }, 4000);
  ready();
  flush();
})();
