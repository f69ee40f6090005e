// A feed that is tapped while the computer cannot be reached is kept in this browser, said to be not
// yet written down, and sent once the computer answers. It carries the token of its form, so that it
// is written once however often it is sent, and how long it has waited: the computer asks about it
// if the animal was fed meanwhile. Without this file a feed is sent as any other form.
"use strict";
(() => {
  if (!window.fetch || typeof SubmitEvent === "undefined") return; // an old browser sends the form itself
  const MARK = "kept-feed:"; // each feed has a place of its own, so two open pages never undo each other
  const AGAIN = 4000; // ms
  const PATIENCE = 6000; // ms
  const STALE = 60; // s; an open page looks every few seconds
  const OF_THE_FORM = ["token", "once", "ago", "unseen", "kept_by"];
  const here = new Map(); // those of this page, also where the browser keeps nothing
  const unstored = new Set();
  let heardAt = Date.now();
  let sending = false;

  const sound = (one) =>
    Boolean(one) && typeof one.once === "string" && Number.isFinite(one.tapped) && Number.isFinite(one.heardAt) &&
    Array.isArray(one.fields) && one.fields.every((field) => Array.isArray(field) && field.length === 2 && field.every((text) => typeof text === "string"));
  const stored = () => {
    const found = new Map();
    try {
      for (const key of Object.keys(window.localStorage)) {
        if (!key.startsWith(MARK)) continue;
        try {
          const one = JSON.parse(window.localStorage.getItem(key));
          if (sound(one)) found.set(one.once, one);
        } catch {
          // Not ours.
        }
      }
    } catch {
      // This browser keeps nothing.
    }
    return found;
  };
  const kept = () => {
    const found = stored();
    for (const once of unstored) if (here.has(once)) found.set(once, here.get(once));
    return [...found.values()].sort((one, other) => one.tapped - other.tapped);
  };
  const keep = (one) => {
    here.set(one.once, one);
    try {
      window.localStorage.setItem(MARK + one.once, JSON.stringify(one));
      unstored.delete(one.once);
    } catch {
      unstored.add(one.once); // kept as long as this page is open
    }
  };
  const drop = (once) => {
    here.delete(once);
    unstored.delete(once);
    try {
      window.localStorage.removeItem(MARK + once);
    } catch {
      // It was not kept there.
    }
  };
  // What another page has sent or thrown away meanwhile does not come back.
  const change = (once, more) => {
    const one = kept().find((each) => each.once === once);
    if (one) keep({ ...one, ...more });
  };

  // --- sending ----------------------------------------------------------------------------

  const seconds = (since) => Math.max(0, Math.round((Date.now() - since) / 1000));

  const post = (one, token) => {
    const body = new URLSearchParams(one.fields);
    body.append("token", token);
    body.append("once", one.once);
    if (one.late) {
      body.append("ago", seconds(one.tapped));
      body.append("kept_by", one.by ?? "");
    }
    const unseen = seconds(one.heardAt);
    if (one.late || unseen >= STALE) body.append("unseen", unseen);
    return fetch("/fed", { method: "POST", body, signal: AbortSignal.timeout?.(PATIENCE) });
  };

  const parsed = async (reply) => new DOMParser().parseFromString(await reply.text(), "text/html");

  const newToken = async () => {
    const reply = await fetch("/animals", { signal: AbortSignal.timeout?.(PATIENCE) });
    if (reply.status === 401) throw new NotLetIn();
    return (await parsed(reply)).querySelector("input[name=token]")?.value ?? "";
  };

  class NotLetIn extends Error {}

  // What became of a feed: "written", "asked" (with the page that asks), "away", "out" or "odd".
  const send = async (one, token) => {
    try {
      let reply = await post(one, token || (await newToken()));
      if (reply.status === 403) reply = await post(one, await newToken());
      heardAt = Date.now();
      if (reply.status === 401) return { became: "out" };
      if (reply.status === 422) return { became: "asked", page: await parsed(reply) };
      return reply.ok && reply.redirected ? { became: "written", where: reply.url } : { became: "odd" };
    } catch (error) {
      return { became: error instanceof NotLetIn ? "out" : "away" };
    }
  };

  const sendKept = async () => {
    if (sending) return;
    sending = true;
    try {
      for (const one of kept().filter((each) => each.late && !each.question)) {
        const { became, page } = await send(one, "");
        if (!kept().some((each) => each.once === one.once)) continue;
        if (became === "written") {
          drop(one.once);
          said(`Written down now: ${words(one)}`);
        } else if (became === "asked") {
          const found = page.getElementById("asked") ?? page.getElementById("fault");
          change(one.once, { question: found?.outerHTML ?? "", became });
        } else {
          change(one.once, { became });
          if (became === "away") break;
        }
      }
    } finally {
      sending = false;
      show();
    }
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.getAttribute("action") !== "/fed") return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const data = new FormData(form);
    if (event.submitter?.name) data.append(event.submitter.name, event.submitter.value);
    const fields = [...data].filter(([name]) => !OF_THE_FORM.includes(name));
    const waited = kept().find((one) => one.once === form.dataset.kept);
    if (waited) {
      change(waited.once, { fields, question: "", became: "away" });
      await sendKept();
      return;
    }
    const token = data.get("token");
    // A token of its own: the same form may be pressed again before the page is a new one.
    const drawn = window.crypto.getRandomValues(new Uint32Array(4));
    const one = {
      once: [...drawn].map((number) => number.toString(36)).join("-"), fields, tapped: Date.now(), heardAt, late: false, became: "away",
      by: document.body.dataset.by ?? "",
    };
    keep(one);
    event.submitter?.setAttribute("aria-busy", "true");
    event.submitter?.setAttribute("disabled", "");
    const { became, where, page } = await send(one, token);
    if (became === "written") {
      drop(one.once);
      if (!unstored.size) return window.location.assign(where);
      said(`Written down: ${words(one)}`); // another page would lose what only this one keeps
      event.submitter?.removeAttribute("aria-busy");
      event.submitter?.removeAttribute("disabled");
      show();
    } else if (became === "asked") {
      drop(one.once);
      document.getElementById("main").replaceWith(page.getElementById("main"));
      (document.getElementById("asked") ?? document.getElementById("fault"))?.scrollIntoView({ block: "center" });
      show();
    } else {
      change(one.once, { late: true, became });
      event.submitter?.removeAttribute("aria-busy");
      event.submitter?.removeAttribute("disabled");
      show();
      document.getElementById("kept")?.scrollIntoView({ block: "start" });
    }
  }, true);

  // --- showing ----------------------------------------------------------------------------

  const clock = (moment) => new Date(moment).toTimeString().slice(0, 5);
  const value = (one, name) => one.fields.find((field) => field[0] === name)?.[1] ?? "";
  const words = (one) => `${value(one, "name")}, ${value(one, "amount").replace(".0 ", " ")}, at ${clock(one.tapped)}.`;
  const REASONS = {
    away: "The computer cannot be reached. Leave this page open: it is sent as soon as the computer answers.",
    out: "This telephone is not paired any more. Pair it again, and it is sent.",
    odd: "The computer could not write it down. It is sent again.",
    asked: "",
  };
  const UNSTORED = "This browser’s storage is full or switched off. If you close this page, the feed is lost: write it on paper.";

  const made = (tag, text, more = {}) => Object.assign(document.createElement(tag), { textContent: text, ...more });

  const place = (id) => {
    let found = document.getElementById(id);
    if (!found) {
      found = made("section", "", { id, className: "note fault" });
      found.setAttribute("role", "alert");
      (document.querySelector("main h1") ?? document.querySelector("main")).after(found);
    }
    return found;
  };

  const show = () => {
    const waiting = kept().filter((one) => one.late);
    const shown = waiting.map(({ once, became, question }) => [once, became, question, unstored.has(once)]);
    const mark = JSON.stringify(shown);
    const before = document.getElementById("kept");
    if (!waiting.length) return before?.remove();
    if (before?.dataset.mark === mark) return;
    const all = place("kept");
    all.dataset.mark = mark;
    all.replaceChildren();
    for (const one of waiting) {
      const line = made("p", "");
      line.append(made("strong", "Not yet written down: "), words(one));
      all.append(line);
      if (one.question) {
        const asked = new DOMParser().parseFromString(one.question, "text/html").body.firstElementChild;
        if (asked) {
          asked.removeAttribute("id");
          asked.querySelectorAll("a").forEach((link) => link.remove());
          if (asked.matches("form")) asked.dataset.kept = one.once;
          all.append(document.adoptNode(asked));
        }
      } else {
        all.append(made("p", REASONS[one.became] ?? REASONS.odd));
      }
      if (unstored.has(one.once)) all.append(made("p", UNSTORED));
      const button = made("button", "Do not write it down", { type: "button", className: "quiet" });
      button.addEventListener("click", () => { drop(one.once); show(); });
      all.append(button);
    }
  };

  const said = (text) => {
    const heard = document.getElementById("heard");
    if (!heard) return;
    heard.textContent = text;
    heard.className = "note said";
  };

  // --- hearing from the computer ----------------------------------------------------------

  document.addEventListener("reached", () => {
    heardAt = Date.now();
    document.getElementById("away")?.remove();
    sendKept();
  });
  document.addEventListener("unreached", (event) => {
    const out = event.detail === 401;
    place("away").textContent = out
      ? "This telephone is not paired any more. Pair it again at the computer."
      : `The computer cannot be reached. This page is as it was at ${clock(heardAt)}; somebody may have fed since.`;
  });
  window.addEventListener("beforeunload", (event) => { if (unstored.size) event.preventDefault(); });
  window.addEventListener("storage", show);
  window.addEventListener("online", sendKept);
  window.setInterval(() => { if (kept().some((one) => one.late && !one.question)) sendKept(); }, AGAIN);
  for (const one of kept()) if (!one.late) change(one.once, { late: true }); // begun by a page that is gone
  show();
  sendKept();
})();
