// Each tick or number asks again and puts the answer in place. Without this file the page works
// by its buttons. Nothing is loaded from anywhere else.
"use strict";
(() => {
  const kitchen = document.getElementById("kitchen");
  const heard = document.getElementById("heard");
  if (!kitchen || !window.fetch) return;
  let asking = null;
  let waiting = 0;

  const send = async (where, form, button, part, signal) => {
    const data = new FormData(form);
    if (button && button.name) data.append(button.name, button.value);
    const reply = await fetch(where, {
      method: "POST",
      body: new URLSearchParams(data),
      headers: { "X-Part": part },
      signal,
    });
    if (reply.status === 400) throw new Error("A file needs a look. Open the page afresh.");
    if (reply.status === 403) throw new Error("The program was started again. Open the page afresh.");
    if (!reply.ok && reply.status !== 422) throw new Error("No answer. Is the program still running?");
    return reply.text();
  };

  const put = (id, html) => {
    const place = document.getElementById(id);
    const before = document.activeElement;
    const focused = place.contains(before) ? before.id : "";
    place.innerHTML = html;
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
      put("answer", await send("/answer", kitchen, null, "answer", asking.signal));
      const field = document.getElementById("keep-as");
      if (kept && field) field.value = kept;
      const mix = document.querySelector("#first-mix option[data-mix]");
      if (mix) mix.value = kitchen.elements.namedItem("kept")?.value ?? "";
      place.removeAttribute("aria-busy");
    } catch (error) {
      if (error.name === "AbortError") return;
      place.removeAttribute("aria-busy");
      heard.textContent = error.message;
      heard.classList.remove("unseen");
    }
  };

  const matters = (field) =>
    field.name && !/^(c\.|recipe$|keep_as$|add$)/.test(field.name);

  kitchen.addEventListener("input", (event) => {
    if (!matters(event.target)) return;
    if (/^(on$|price\.|package\.)/.test(event.target.name)) kitchen.classList.add("changed");
    window.clearTimeout(waiting);
    const typed = event.target.matches("input:not([type=checkbox]):not([type=radio])");
    waiting = window.setTimeout(() => ask(), typed ? 300 : 0);
  });

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    const button = event.submitter;
    const part = button?.dataset.part || form.dataset.part;
    if (!["checked", "animals", "shopping"].includes(part)) return;
    event.preventDefault();
    document.getElementById(part).setAttribute("aria-busy", "true");
    try {
      const where = part === "checked" ? "/checked" : form.getAttribute("action");
      put(part, await send(where, form, button, part));
      const place = document.getElementById(part);
      const told = place.querySelector("[data-heard]") ?? place.querySelector(".note");
      if (part === "animals") told?.scrollIntoView({ block: "center" });
    } catch (error) {
      heard.textContent = error.message;
      heard.classList.remove("unseen");
    }
    document.getElementById(part).removeAttribute("aria-busy");
  });
})();
