// Asks for the same addresses as the plain links and forms, and puts in place what changed.
"use strict";

(() => {
  const PAUSE = 150; // ms of rest in typing before the page asks
  const root = document.documentElement;
  const told = document.getElementById("told");
  let sent = regions(document); // each region as the server sent it
  let asking = new AbortController();
  let underway = "";
  let resting = 0;

  root.classList.add("live");
  later();

  function regions(from) {
    return new Map([...from.querySelectorAll("[data-region]")].map((r) => [r.id, r.outerHTML]));
  }

  function addressOf(form) {
    const filled = [...new FormData(form)].filter(([, text]) => text !== "");
    const asked = new URLSearchParams(filled).toString();
    return form.getAttribute("action") + (asked ? `?${asked}` : "");
  }

  async function go(address, history_) {
    clearTimeout(resting);
    if (address === underway) return; // leaving a field and sending its form are one wish
    asking.abort();
    asking = new AbortController();
    underway = address;
    root.setAttribute("aria-busy", "true");
    try {
      const response = await fetch(address, { signal: asking.signal });
      const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
      if (!fresh.querySelector("main")) throw new TypeError("not a page");
      show(fresh);
    } catch (error) {
      if (error.name === "AbortError") return;
      location.assign(address);
      return;
    }
    underway = "";
    root.removeAttribute("aria-busy");
    if (history_) history[history_](null, "", address);
    document.dispatchEvent(new Event("shown"));
    later();
  }

  // What takes longer comes after the kit, in place of the link that leads to it.
  async function later() {
    const link = document.querySelector("a[data-later]");
    if (!link) return;
    const region = link.closest("[data-region]");
    const response = await fetch(link.href).catch(() => null);
    if (!response?.ok) return;
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    if (link.isConnected) link.parentElement.replaceWith(fresh.getElementById(link.dataset.later));
    region.dispatchEvent(new Event("drawn", { bubbles: true }));
  }

  function show(fresh) {
    const now = regions(fresh);
    const says = fresh.querySelector("main").dataset.told;
    const held = document.activeElement;
    const home = held.closest("[data-region]")?.id;
    const open = [...document.querySelectorAll("details[open][id]")].map((d) => d.id);
    const same = [...now.keys()].join() === [...sent.keys()].join();
    if (same) {
      for (const [id, html] of now) {
        if (html !== sent.get(id)) {
          document.getElementById(id).replaceWith(fresh.getElementById(id));
        }
      }
      fill(fresh, held);
    } else {
      document.querySelector("main").replaceWith(fresh.querySelector("main"));
    }
    sent = now;
    document.title = fresh.title;
    told.textContent = says;
    for (const id of open) document.getElementById(id)?.setAttribute("open", "");
    if (!held.isConnected) refocus(same ? [held.id, home] : ["find", "car-words", "kit"]);
  }

  // What stands in fields outside the regions, except where somebody is typing.
  function fill(fresh, held) {
    for (const field of document.querySelectorAll("input[data-filled], select[data-filled]")) {
      const now = fresh.getElementById(field.id);
      if (now && field !== held) field.value = now.value;
    }
  }

  function refocus(ids) {
    const next = ids.filter(Boolean).map((id) => document.getElementById(id)).find(Boolean);
    if (!next) return;
    if (next.matches("section, div")) next.tabIndex = -1;
    next.focus({ preventScroll: true });
  }

  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href]");
    const plain = event.button === 0
      && !(event.ctrlKey || event.metaKey || event.shiftKey || event.altKey);
    if (!link || !plain || link.origin !== location.origin || link.pathname !== "/") return;
    if (link.hash) return;
    event.preventDefault();
    go(link.getAttribute("href"), "pushState");
  });

  document.addEventListener("submit", (event) => {
    if (!event.target.matches("form[data-live]")) return;
    event.preventDefault();
    go(addressOf(event.target), "pushState");
  });

  // From the search into the hits and along them.
  document.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const from = event.target.closest("#find, #hits .do a");
    if (!step || !from) return;
    const stops = [document.getElementById("find"), ...document.querySelectorAll("#hits .do a:first-child")];
    const next = stops[stops.indexOf(from.closest(".do")?.firstElementChild ?? from) + step];
    if (!next) return;
    event.preventDefault();
    next.focus();
  });

  document.addEventListener("input", (event) => {
    const { form, type } = event.target;
    if (type !== "search" || !form?.matches("[data-live]")) return;
    clearTimeout(resting);
    resting = setTimeout(() => go(addressOf(form), "replaceState"), PAUSE);
  });

  document.addEventListener("change", (event) => {
    const { form, type } = event.target;
    if (type === "search" || !form?.matches("[data-live]") || !form.reportValidity()) return;
    go(addressOf(form), "pushState");
  });

  window.addEventListener("popstate", () => go(location.href, ""));
})();
