"use strict";
/* Moving a pass on the board of the week, by pointer or by keyboard. Without this script the same is a form: the link
   "move" leads there. Nothing is kept here: the farm answers with what the move costs, and its own form keeps it. */
(() => {
  const board = document.querySelector(".board");
  const asked = document.getElementById("asked");
  const said = document.getElementById("said");
  if (!board || !asked) return;
  const SHOWN_MIN = 18 * 60, SNAP_MIN = 30, NEAR_PX = 6;
  const words = asked.dataset;
  const lang = document.documentElement.lang;
  const heads = [...board.querySelectorAll("thead th")].slice(1).map((th) => th.textContent);
  const known = new Map();
  let held = null;
  for (const how of document.querySelectorAll("[data-how]")) how.hidden = false;

  const filled = (text, facts) => text.replace(/\{(\w+)\}/g, (all, name) => facts[name] ?? all);
  const tell = (text) => { said.textContent = text; };
  const pad = (number) => String(number).padStart(2, "0");
  const linkOf = (cell) => cell.querySelector("[data-move]");
  const whatOf = (cell) => cell.dataset.what;

  /* A moment is a day of the farm's clock and a minute of it; no time zone of this device comes in. */
  const momentOf = (text) => {
    const [day, clock] = text.split("T");
    const [hour, minute] = clock.split(":").map(Number);
    return { day, minute: hour * 60 + minute };
  };
  const shifted = (day, days) => {
    const at = new Date(`${day}T00:00:00Z`);
    at.setUTCDate(at.getUTCDate() + days);
    return at.toISOString().slice(0, 10);
  };
  const dayOf = (cell, column) => shifted(momentOf(cell.dataset.at).day, column - columnOf(cell));
  const columnOf = (cell) => cell.closest("td").cellIndex - 1;
  const clockOf = (minute) => `${pad(Math.floor(minute / 60))}:${pad(minute % 60)}`;
  const clockSaid = (minute) => {
    const hour = Math.floor(minute / 60);
    const half = hour < 12 ? (lang === "es" ? "a.m." : "am") : (lang === "es" ? "p.m." : "pm");
    return `${hour % 12 || 12}:${pad(minute % 60)} ${half}`;
  };

  async function waysOf(cell) {
    const id = cell.dataset.pass;
    if (!known.has(id)) {
      const answer = await fetch(`${words.week}${id}/ways/`, { credentials: "same-origin" });
      known.set(id, answer.ok ? (await answer.json()).ways : []);
    }
    return known.get(id);
  }

  /* What a pass would be done with in a row: the row's own parts, and of the rest as much as it has now. */
  function wayIn(ways, row, now) {
    const parts = (row.dataset.parts || "").split(" ").filter(Boolean);
    if (!parts.length) return null;
    const old = ways.find((one) => one.outfit === now);
    const fitting = ways.filter((one) => parts.every((part) => one.resources.includes(part)));
    const alike = (one) => (old ? one.resources.filter((part) => old.resources.includes(part)).length : 0);
    return fitting.sort((a, b) => alike(b) - alike(a))[0] || null;
  }

  const outfitSaid = (ways, outfit) => (ways.find((one) => one.outfit === outfit) || { says: "" }).says;
  const placeSaid = () => filled(words.at, {
    day: heads[held.column], clock: clockSaid(held.minute), outfit: outfitSaid(held.ways, held.outfit),
  });
  const isTop = (one) => one instanceof HTMLTableRowElement && one.closest("tbody");

  async function pickUp(cell) {
    const start = momentOf(cell.dataset.at);
    held = {
      cell, ways: [], outfit: cell.dataset.outfit, minute: start.minute, column: columnOf(cell),
      row: cell.closest("tr"), ghost: null,
    };
    cell.classList.add("picked");
    const mine = held;
    const ways = await waysOf(cell);
    if (held === mine) held.ways = ways;
    return held === mine;
  }

  function putBack(says) {
    if (!held) return;
    held.cell.classList.remove("picked");
    held.ghost?.remove();
    for (const one of board.querySelectorAll(".target")) one.classList.remove("target");
    const cell = held.cell;
    held = null;
    if (says) tell(says);
    linkOf(cell)?.focus();
  }

  function show() {
    for (const one of board.querySelectorAll(".target")) one.classList.remove("target");
    held.row.cells[held.column + 1]?.classList.add("target");
    if (!held.ghost) {
      held.ghost = document.createElement("div");
      held.ghost.className = "ghost";
      held.ghost.setAttribute("aria-hidden", "true");
      document.body.append(held.ghost);
    }
    held.ghost.textContent = `${whatOf(held.cell)}: ${placeSaid()}`;
    if (!held.pointer) {
      held.row.cells[held.column + 1].scrollIntoView({ block: "nearest", inline: "nearest" });
      const at = held.row.cells[held.column + 1].getBoundingClientRect();
      placeGhost(at.left, Math.min(Math.max(0, at.top - 44), window.innerHeight - 80));
    }
  }

  /* The policy of the pages allows no style in the markup; a property set by a script of our own is allowed. */
  function placeGhost(x, y) {
    const most = window.innerWidth - 240;
    held.ghost.style.transform = `translate(${Math.max(0, Math.min(x, most))}px, ${y}px)`;
  }

  function step(key, far) {
    const last = heads.length - 1;
    if (key === "ArrowUp" || key === "ArrowDown") {
      for (let row = held.row; (row = key === "ArrowUp" ? row.previousElementSibling : row.nextElementSibling);) {
        const way = isTop(row) && wayIn(held.ways, row, held.cell.dataset.outfit);
        if (way) {
          held.row = row;
          held.outfit = way.outfit;
          return true;
        }
      }
      return false;
    }
    const sign = key === "ArrowLeft" || key === "PageUp" ? -1 : 1;
    if (far || key.startsWith("Page")) {
      if (held.column + sign < 0 || held.column + sign > last) return false;
      held.column += sign;
      return true;
    }
    let minute = held.minute + sign * 60, column = held.column;
    if (minute < 0) { minute += 1440; column -= 1; }
    if (minute >= 1440) { minute -= 1440; column += 1; }
    if (column < 0 || column > last) return false;
    held.minute = minute;
    held.column = column;
    return true;
  }

  async function drop() {
    const cell = held.cell, what = whatOf(cell);
    const day = dayOf(cell, held.column), hour = clockOf(held.minute);
    const query = new URLSearchParams({ outfit: held.outfit, day, hour });
    putBack("");
    tell(filled(words.wait, { what }));
    asked.textContent = filled(words.wait, { what });
    asked.setAttribute("aria-busy", "true");
    await answered(`${words.week}${cell.dataset.pass}/?${query}`, {}, cell);
  }

  /* Show what the farm answers to a move: the part of its page that tells the price, or both versions of the week. */
  async function answered(address, how, cell) {
    let answer = null;
    try {
      answer = await fetch(address, { credentials: "same-origin", ...how });
    } catch {
      answer = null;
    }
    asked.removeAttribute("aria-busy");
    if (answer?.status === 201) {
      window.location.assign(answer.headers.get("Location"));
      return;
    }
    const page = answer && [200, 412, 422].includes(answer.status)
      ? new DOMParser().parseFromString(await answer.text(), "text/html") : null;
    const part = page?.getElementById("price");
    if (!part) {
      asked.textContent = words.none;
      tell(words.none);
      linkOf(cell)?.focus();
      return;
    }
    const old = part.querySelector("h1"), head = document.createElement("h2");
    head.tabIndex = -1;
    head.textContent = old.textContent;
    old.replaceWith(head);
    asked.replaceChildren(...[...part.childNodes].map((one) => document.importNode(one, true)));
    const wrong = asked.querySelector("[role=alert]");
    tell(`${wrong ? `${wrong.textContent} ` : ""}${head.textContent}`);
    asked.scrollIntoView({ block: "nearest" });
    asked.querySelector("h2").focus();
    asked.querySelector("[data-drop]")?.addEventListener("click", (event) => {
      event.preventDefault();
      asked.replaceChildren();
      tell(filled(words.back, { what: whatOf(cell) }));
      linkOf(cell)?.focus();
    });
    asked.querySelector("[data-keep]")?.addEventListener("submit", (event) => {
      event.preventDefault();
      const form = event.target;
      const body = new URLSearchParams(new FormData(form));
      const headers = { "If-Match": `"${words.version}"` };
      answered(form.action, { method: "POST", body, headers }, cell);
    });
  }

  board.addEventListener("click", (event) => {
    const link = event.target.closest("[data-move]");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (held) return;
    begin(link.closest(".cell"));
  });

  async function begin(cell) {
    if (!(await pickUp(cell))) return;
    show();
    tell(filled(words.picked, { what: whatOf(cell), at: placeSaid() }));
    linkOf(cell).focus();
  }

  board.addEventListener("keydown", (event) => {
    const link = event.target.closest("[data-move]");
    if (!link) return;
    if (!held) {
      if (event.key === " ") {
        event.preventDefault();
        begin(link.closest(".cell"));
      }
      return;
    }
    if (held.cell !== link.closest(".cell")) return;
    if (event.key === "Escape") {
      event.preventDefault();
      putBack(filled(words.back, { what: whatOf(held.cell) }));
    } else if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      drop();
    } else if (/^(Arrow(Up|Down|Left|Right)|Page(Up|Down))$/.test(event.key)) {
      event.preventDefault();
      const moved = step(event.key, event.shiftKey);
      show();
      tell(moved ? placeSaid() : `${words.edge} ${placeSaid()}`);
    } else if (event.key === "Tab") {
      putBack(filled(words.back, { what: whatOf(held.cell) }));
    }
  });

  board.addEventListener("pointerdown", (event) => {
    const cell = event.target.closest(".cell[data-pass]");
    if (!cell || event.button !== 0 || held || event.pointerType === "touch") return;
    if (event.target.closest("a, button, summary, details")) return;
    const from = { x: event.clientX, y: event.clientY };
    const strip = cell.querySelector(".strip").getBoundingClientRect();
    const grabbed = {
      x: event.clientX - cell.closest("td").getBoundingClientRect().left, minutesAPx: SHOWN_MIN / strip.width,
    };
    let ready = false;

    const move = async (at) => {
      if (!held) {
        if (Math.hypot(at.clientX - from.x, at.clientY - from.y) < NEAR_PX) return;
        cell.setPointerCapture(event.pointerId);
        const picked = pickUp(cell);
        held.pointer = true;
        if (!(await picked)) return;
        ready = true;
      }
      if (!ready) return;
      over(at, grabbed);
    };
    const end = (at) => {
      cell.removeEventListener("pointermove", move);
      cell.removeEventListener("pointerup", end);
      cell.removeEventListener("pointercancel", cancel);
      if (!held) return;
      if (ready && over(at, grabbed)) drop();
      else putBack(filled(words.back, { what: whatOf(cell) }));
    };
    const cancel = () => {
      cell.removeEventListener("pointermove", move);
      cell.removeEventListener("pointerup", end);
      putBack(filled(words.back, { what: whatOf(cell) }));
    };
    cell.addEventListener("pointermove", move);
    cell.addEventListener("pointerup", end);
    cell.addEventListener("pointercancel", cancel);
    event.preventDefault();
  });

  /* Take the place under the pointer; false where a pass cannot go there. */
  function over(at, grabbed) {
    const column = document.elementsFromPoint(at.clientX, at.clientY).find((one) => one.matches?.(".board td"));
    if (!column) return false;
    const row = column.closest("tr"), inside = at.clientX - column.getBoundingClientRect().left;
    const exact = momentOf(held.cell.dataset.at).minute + (inside - grabbed.x) * grabbed.minutesAPx;
    const same = row === held.cell.closest("tr");
    const way = same ? { outfit: held.cell.dataset.outfit } : wayIn(held.ways, row, held.cell.dataset.outfit);
    if (!way) return false;
    held.row = row;
    held.outfit = way.outfit;
    held.column = column.cellIndex - 1;
    held.minute = Math.min(Math.max(Math.round(exact / SNAP_MIN) * SNAP_MIN, 0), 1440 - SNAP_MIN);
    show();
    placeGhost(at.clientX + 12, at.clientY + 12);
    return true;
  }

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && held?.pointer) putBack(filled(words.back, { what: whatOf(held.cell) }));
  });
})();
