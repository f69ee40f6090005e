// Each tick or number asks again and puts the answer in place; an open page looks again when the
// files change. Without this file the page works by its buttons. Nothing is loaded from elsewhere.
"use strict";
(() => {
  const kitchen = document.getElementById("kitchen");
  const heard = document.getElementById("heard");
  if (!window.fetch) return;

  // --- the answer, tick by tick -----------------------------------------------------------

  let asking = null;
  let waiting = 0;

  const put = (place, html) => {
    const focused = place.contains(document.activeElement) ? document.activeElement.id : "";
    const opened = place.querySelector(".drops")?.open;
    place.innerHTML = html;
    const drops = place.querySelector(".drops");
    if (opened && drops) drops.open = true;
    const told = place.querySelector("[data-heard]");
    if (told) heard.textContent = told.dataset.heard;
    heard.classList.add("unseen");
    if (focused) document.getElementById(focused)?.focus();
  };

  const ask = async () => {
    asking?.abort();
    asking = new AbortController();
    const place = document.getElementById("answer");
    place.setAttribute("aria-busy", "true");
    try {
      const kept = document.getElementById("keep-as")?.value;
      const reply = await fetch("/answer", {
        method: "POST",
        body: new URLSearchParams(new FormData(kitchen)),
        signal: asking.signal,
      });
      if (reply.status === 400) throw new Error("One of the files needs correcting. Open the page again.");
      if (reply.status === 403) throw new Error("The program was started again. Open the page again.");
      if (!reply.ok) throw new Error("No answer. Is the program still running?");
      put(place, await reply.text());
      const field = document.getElementById("keep-as");
      if (kept && field) field.value = kept;
      place.removeAttribute("aria-busy");
    } catch (error) {
      if (error.name === "AbortError") return;
      place.removeAttribute("aria-busy");
      heard.textContent = error.message;
      heard.classList.remove("unseen");
    }
  };

  // What is typed is remembered at once, so that no other place loses it.
  const remember = () =>
    fetch("/draft", {
      method: "POST",
      body: new URLSearchParams(new FormData(kitchen)),
      keepalive: true,
    }).catch(() => {});

  if (kitchen) {
    let soon = 0;
    kitchen.addEventListener("input", (event) => {
      const name = event.target.name;
      if (!name || name === "keep_as" || name === "add") return;
      const typed = event.target.matches("input:not([type=checkbox]):not([type=radio])");
      window.clearTimeout(soon);
      soon = window.setTimeout(remember, typed ? 150 : 0);
      if (!document.getElementById("answer")) return;
      window.clearTimeout(waiting);
      waiting = window.setTimeout(ask, typed ? 300 : 0);
    });
    kitchen.addEventListener("change", remember);
  }

  // --- somebody else wrote ----------------------------------------------------------------

  const EVERY = 3000; // ms
  const MINUTE = 60000;
  const known = document.body.dataset.version;
  if (!known) return;
  let version = known;
  let looked = Date.now();
  let typing = false;
  document.addEventListener("input", () => { typing = true; });
  document.addEventListener("submit", () => { typing = true; });

  const fresh = async (now) => {
    const place = document.getElementById("now");
    if (!place || typing || place.contains(document.activeElement) && document.activeElement.matches("input, button")) {
      if (now !== version) document.getElementById("news").hidden = false;
      return;
    }
    const opened = [...place.querySelectorAll("details")].map((one) => one.open);
    const reply = await fetch(window.location.pathname);
    if (!reply.ok) return;
    const page = new DOMParser().parseFromString(await reply.text(), "text/html");
    const found = page.getElementById("now");
    if (!found || typing) return;
    const before = place.textContent;
    place.innerHTML = found.innerHTML;
    place.querySelectorAll("details").forEach((one, k) => { one.open = opened[k] ?? false; });
    document.querySelector("h1").innerHTML = page.querySelector("h1").innerHTML;
    if (now !== version && before !== place.textContent) heard.textContent = "The list has changed.";
    version = now;
    looked = Date.now();
  };

  const look = async () => {
    if (document.hidden) return;
    try {
      const reply = await fetch("/version", { signal: AbortSignal.timeout?.(2 * EVERY) });
      if (!reply.ok) {
        document.dispatchEvent(new CustomEvent("unreached", { detail: reply.status }));
        return;
      }
      document.dispatchEvent(new CustomEvent("reached"));
      const now = await reply.text();
      if (now !== version || Date.now() - looked > MINUTE) await fresh(now);
    } catch {
      document.dispatchEvent(new CustomEvent("unreached")); // it is asked again
    }
  };
  window.setInterval(look, EVERY);
  // A telephone that was put away shows how things are as soon as it is looked at again.
  document.addEventListener("visibilitychange", look);
  window.addEventListener("pageshow", (event) => { if (event.persisted) look(); });
})();
