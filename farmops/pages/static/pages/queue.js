/* Reports wait here until the server has stored them.

Each form of the hand's page becomes one item under the id that it carries; an item goes out as often as needed, since the
server takes the same id once, and goes away only when the server's receipt names that id. Without a database in the
browser the forms are sent as plain forms. */
"use strict";
(() => {
  const box = document.querySelector("[data-queue]");
  if (!box || !window.indexedDB) return;
  const says = box.dataset, owner = says.owner;
  const TOO_OLD_MS = 2 * 24 * 3600e3, RECEIPTS_MS = 24 * 3600e3, WAIT_MS = 20e3, LONGEST_WAIT_MS = 600e3;
  const TIMEOUT_MS = 60e3, PHOTO_PX = 1600, PHOTO_BYTES = 600e3, SHOWN = 3;
  const STUCK = [400, 404, 409, 410, 413, 415, 422], TAPS_MS = 2000, pressedAt = new WeakMap();
  let opened, timer, tries = 0, isSending = false, note = "";

  const open = () => opened ??= new Promise((done, fail) => {
    const ask = indexedDB.open("field-reports", 1);
    ask.onupgradeneeded = () => {
      ask.result.createObjectStore("waiting", { keyPath: "id" });
      ask.result.createObjectStore("receipts", { keyPath: "id" });
    };
    ask.onsuccess = () => {
      const lose = () => { ask.result.close(); opened = undefined; }; // the browser made room: the next turn opens it anew
      ask.result.onclose = ask.result.onversionchange = lose;
      done(ask.result);
    };
    ask.onerror = () => fail(ask.error);
    ask.onblocked = () => fail(new Error("blocked"));
  });
  const work = async (store, mode, what) => {
    const db = await open();
    return new Promise((done, fail) => {
      const turn = db.transaction(store, mode), ask = what(turn.objectStore(store));
      turn.oncomplete = () => done(ask.result);
      turn.onerror = turn.onabort = () => fail(turn.error);
    });
  };
  const patience = () => AbortSignal.timeout ? AbortSignal.timeout(TIMEOUT_MS) : undefined;
  const put = (store, item) => work(store, "readwrite", (rows) => rows.put(item));
  const drop = (store, id) => work(store, "readwrite", (rows) => rows.delete(id));
  const mine = async (store) =>
    (await work(store, "readonly", (rows) => rows.getAll())).filter((item) => item.owner === owner).sort((a, b) => a.at - b.at);

  const newId = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 15) | 64;
    bytes[8] = (bytes[8] & 63) | 128;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  };

  const smaller = async (file) => {
    if (!file.type.startsWith("image/") || file.size <= PHOTO_BYTES) return file;
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const share = Math.min(1, PHOTO_PX / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.round(picture.width * share);
      canvas.height = Math.round(picture.height * share);
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.8));
      return blob && blob.size < file.size ? blob : file;
    } catch {
      return file; // the server says what is wrong with it
    }
  };

  const lighter = async (fields) => {
    const entries = [];
    for (const [name, value] of fields) {
      if (name === "csrfmiddlewaretoken" || name === "client_id") continue;
      if (typeof value === "string") entries.push([name, value]);
      else if (value.size) entries.push([name, await smaller(value), value.name]);
    }
    return entries;
  };

  const element = (name, text, of = {}) => Object.assign(document.createElement(name), { textContent: text, ...of });
  const pressed = (text, id, onclick) => element("button", text, { type: "button", id: `queue-${id}`, onclick });
  const hour = (at) => new Date(at).toLocaleTimeString(document.documentElement.lang, { hour: "numeric", minute: "2-digit", hour12: true }).replace(/([ap])\.\s*m\./, "$1.m."); // as the pages write it
  const day = (at) => new Date(at).toLocaleDateString(document.documentElement.lang, { weekday: "long", day: "numeric", month: "long" });

  // What waits for the boss is no report that was taken: it has its own word and its own mark.
  const receipt = (one) => {
    const text = `${hour(one.at)} ${one.title}: ${one.says}`;
    if (one.state !== "parked") return element("p", `✓ ${text}`, { className: "done" });
    const row = element("p", ` ${text}`, { className: "parked" });
    row.prepend(element("b", says.parked));
    return row;
  };

  const show = async () => {
    const [waiting, receipts] = await Promise.all([mine("waiting"), mine("receipts")]);
    const rows = [];
    if (waiting.length) {
      const count = waiting.length === 1 ? says.waitingOne : says.waitingMany.replace("{n}", waiting.length);
      rows.push(element("p", count, { className: "count" }));
      if (note) rows.push(element("p", note));
      if (waiting.some((item) => Date.now() - item.at > TOO_OLD_MS)) rows.push(element("p", says.old, { className: "caution" }));
      const list = element("ul", "");
      for (const item of waiting) {
        const row = element("li", `${hour(item.at)} ${item.title}${item.stuck ? ": " + item.stuck : ""}`);
        if (item.stuck) {
          const form = formOf(item);
          if (form) row.append(" ", pressed(says.restore, `right-${item.id}`, () => restore(item, form)));
          const away = async () => { if (confirm(says.dropSure)) { await drop("waiting", item.id); show(); } };
          row.append(" ", pressed(says.drop, `away-${item.id}`, away));
        }
        list.append(row);
      }
      rows.push(list);
      if (!isSending) rows.push(pressed(says.send, "send", () => { tries = 0; send(true); }));
    }
    for (const one of receipts.slice(-SHOWN)) rows.push(receipt(one));
    if (Date.now() - Date.parse(says.now) > WAIT_MS * 30) rows.push(element("p", says.asOf.replace("{n}", `${day(says.now)}, ${hour(says.now)}`)));
    const had = box.contains(document.activeElement) && document.activeElement.id;
    box.replaceChildren(...rows);
    box.hidden = !rows.length;
    if (had) (box.hidden ? document.querySelector("main h1") : document.getElementById(had) || box).focus();
    document.documentElement.style.scrollPaddingTop = `${box.offsetHeight + 8}px`; // nothing that is focused hides under it
  };

  const formOf = (item) => {
    const key = item.entries.find(([name]) => name === "form")?.[1];
    return [...document.querySelectorAll("form[data-report]")].find((form) => form.dataset.report === item.kind && form.elements.form?.value === key);
  };

  const restore = async (item, form) => {
    form.reset();
    for (const [name, value] of item.entries) {
      if (typeof value !== "string") continue;
      for (const one of form.querySelectorAll(`[name="${CSS.escape(name)}"]`)) {
        if (one.type === "checkbox" || one.type === "radio") one.checked ||= one.value === value;
        else if (one.type !== "file" && one.type !== "image" && one.type !== "hidden") one.value = value;
      }
    }
    for (let at = form.parentElement; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
    for (const one of form.querySelectorAll("details")) one.open = true;
    form.dataset.instead = item.id; // it goes on waiting until another takes its place
    pressedAt.delete(form);
    form.querySelector("input:not([type=hidden]), select, textarea")?.focus();
  };

  // What was signed in to since, or a page kept for days, makes its forms too old: the page of today has a new secret for them.
  const freshened = async () => {
    const answer = await fetch(says.page, { credentials: "same-origin", redirect: "manual", cache: "no-store", signal: patience() });
    if (!answer.ok) return false;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const secret = page.querySelector("[name=csrfmiddlewaretoken]");
    if (!secret || page.querySelector("[data-queue]")?.dataset.owner !== owner) return false; // nobody, or somebody else
    for (const one of document.querySelectorAll("[name=csrfmiddlewaretoken]")) one.value = secret.value;
    return true;
  };

  const post = async (item) => {
    const body = new FormData(), ids = document.querySelector("[name=csrfmiddlewaretoken]");
    body.append("csrfmiddlewaretoken", ids ? ids.value : "");
    body.append("client_id", item.id);
    for (const [name, value, file] of item.entries) file === undefined ? body.append(name, value) : body.append(name, value, file);
    body.append("made_at", new Date(item.at).toISOString());
    body.append("made_offset_min", String(item.offsetMin));
    body.append("sent_at", new Date().toISOString());
    return fetch(item.url, {
      method: "POST", body, headers: { Accept: "application/json" }, credentials: "same-origin", redirect: "manual", cache: "no-store", signal: patience(),
    });
  };

  const sendOne = async (item) => {
    let answer = await post(item);
    if (answer.status === 403 && await freshened()) answer = await post(item);
    if (answer.status === 204) {
      await drop("waiting", item.id);
      return "";
    }
    const isJson = (answer.headers.get("Content-Type") || "").includes("json");
    const told = isJson ? await answer.json() : {};
    if (answer.ok) {
      if (told.client_id !== item.id) return says.later; // an answer of something in between is no receipt
      await put("receipts", { id: item.id, owner, at: Date.now(), title: item.title, says: told.says, state: told.state });
      await drop("waiting", item.id);
      return "";
    }
    if (answer.type === "opaqueredirect" || answer.status === 401 || answer.status === 403) return says.signIn;
    if (STUCK.includes(answer.status)) {
      await put("waiting", { ...item, stuck: told.detail || says.stuck });
      return "";
    }
    return says.later;
  };

  const sendAll = async (again) => {
    note = says.busy;
    await show();
    note = "";
    for (const item of await mine("waiting")) {
      if (item.stuck && !again) continue;
      let why;
      try {
        why = await sendOne(item);
      } catch {
        why = says.offline;
      }
      if (why) note = why;
      if (why && why !== says.later) break; // what the farm stumbles over holds up nothing behind it
    }
    for (const one of await mine("receipts")) if (Date.now() - one.at > RECEIPTS_MS) await drop("receipts", one.id);
  };

  const send = async (again = false) => {
    if (isSending) return;
    isSending = true;
    clearTimeout(timer);
    try {
      if (navigator.locks) await navigator.locks.request("field-reports", () => sendAll(again));
      else await sendAll(again);
    } finally {
      isSending = false;
      await show();
    }
    const left = (await mine("waiting")).filter((item) => !item.stuck);
    tries = left.length ? tries + 1 : 0;
    if (left.length) timer = setTimeout(send, Math.min(LONGEST_WAIT_MS, WAIT_MS * 2 ** (tries - 1)) * (0.5 + Math.random() / 2));
  };

  // What is put right is of the day and hour that it was of, and has its photos, whatever day the page shows by now.
  const inPlaceOf = (before, entries) => {
    const fresh = entries.filter(([name]) => name !== "day" && name !== "past");
    const has = (wanted) => fresh.some(([name]) => name === wanted);
    return [...fresh, ...before.entries.filter(([name, , file]) => name === "day" || name === "past" || (file !== undefined && !has(name)))];
  };

  const keep = async (press) => {
    const before = press.instead && (await mine("waiting")).find((one) => one.id === press.instead);
    const typed = await lighter(press.fields), entries = before ? inPlaceOf(before, typed) : typed;
    const { id, kind, title, url } = press;
    const item = { id, owner, kind, title, url, entries,
      at: before ? before.at : press.at, offsetMin: before ? before.offsetMin : press.offsetMin };
    await put("waiting", item);
    if (before) await drop("waiting", before.id);
    navigator.storage?.persist?.();
    tries = 0;
    await show();
    box.scrollIntoView({ block: "nearest" });
    send();
  };

  // All that was typed is taken at the press, and the form is empty for the next report, however long the keeping lasts.
  const takenFrom = (form, button) => {
    const press = { fields: [...new FormData(form, button)], id: form.elements.client_id.value, instead: form.dataset.instead,
      kind: form.dataset.report, title: form.dataset.title || form.dataset.report, url: form.getAttribute("action"),
      at: Date.now(), offsetMin: -new Date().getTimezoneOffset() };
    delete form.dataset.instead;
    form.elements.client_id.value = newId();
    form.reset();
    return press;
  };

  // No room or no database: what was taken goes out as a plain form.
  const sendPlain = (press) => {
    const form = element("form", "", { method: "post", action: press.url, enctype: "multipart/form-data", hidden: true });
    for (const [name, value] of press.fields) {
      const isFile = typeof value !== "string", one = element("input", "", { type: isFile ? "file" : "hidden", name });
      if (isFile) {
        if (!value.size) continue;
        const files = new DataTransfer();
        files.items.add(value);
        one.files = files.files;
      } else one.value = value;
      form.append(one);
    }
    document.body.append(form);
    form.submit();
  };

  // A second tap on a button that was just pressed is no second report, unless something was typed in between.
  const typedIn = (event) => event.target.form && pressedAt.delete(event.target.form);
  for (const name of ["input", "change"]) document.addEventListener(name, typedIn);
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-report]")) return;
    event.preventDefault();
    if (event.timeStamp - (pressedAt.get(form) ?? -Infinity) < TAPS_MS) return;
    pressedAt.set(form, event.timeStamp);
    const press = takenFrom(form, event.submitter);
    keep(press).catch(() => sendPlain(press));
  });
  for (const name of ["online", "focus", "pageshow"]) addEventListener(name, () => send());
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && send());

  const leave = document.querySelector("form[data-sign-out]");
  leave?.addEventListener("submit", () => caches?.keys().then((names) => names.forEach((name) => name.startsWith("day-") && caches.delete(name))));
  // The first time the page was there before the worker was: it is put by for the next time without a signal.
  const putBy = async () => {
    await navigator.serviceWorker.register(says.worker);
    if (navigator.serviceWorker.controller) return;
    const parts = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src], img, input[type=image]")];
    await (await caches.open("day-parts")).addAll([...new Set(parts.map((one) => one.href || one.src))]);
    await (await caches.open("day-pages")).add(location.href);
  };
  if (navigator.serviceWorker) putBy().catch(() => {});
  // A copy of the page that the browser kept has the same ids at every opening: under one id only one report may wait.
  const renew = () => document.querySelectorAll("form[data-report]").forEach((form) => { form.elements.client_id.value = newId(); });
  open().then(() => { renew(); send(); }, () => { box.hidden = true; });
})();
