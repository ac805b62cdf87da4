"use strict";
(() => {
  const form = document.querySelector("form");
  const items = [...document.querySelectorAll("[data-s]")];
  const list = document.getElementById("presets");
  const count = document.getElementById("shown");
  const original = new Map(items.map((item, i) => [item, i]));
  const texts = new Map();
  const text = (item) => {
    if (!texts.has(item)) {
      // What is told of a row elsewhere belongs to it.
      const parts = item.tagName === "TR" && item.id ? document.querySelectorAll(`li[data-of="${item.id}"]`) : [];
      texts.set(item, [item, ...parts].map((one) => one.textContent.toLowerCase()).join("\n"));
    }
    return texts.get(item);
  };
  const value = (name) => (form.elements[name] ? form.elements[name].value : "");
  const standing = (item) => {
    const on = value("on");
    return on === "" ? item.dataset.s : item.dataset.on[Number(on)];
  };
  const keys = {
    worst: (card) => "RSAUDNI-".indexOf(standing(card)),
    slot: (card) => Number(card.dataset.slot),
    name: (card) => card.dataset.name.toLowerCase(),
  };
  const sort = () => {
    const key = keys[value("sort")];
    const order = (a, b) => {
      const x = key(a), y = key(b);
      return x < y ? -1 : x > y ? 1 : original.get(a) - original.get(b);
    };
    list.append(...[...items].sort(order));
  };
  const update = () => {
    const words = value("text").toLowerCase();
    const wanted = new Set([...form.querySelectorAll("input[type=checkbox]:checked")].map((box) => box.value));
    let shown = 0;
    for (const item of items) {
      const fits = wanted.has(standing(item)) && (words === "" || text(item).includes(words));
      item.hidden = !fits;
      shown += fits ? 1 : 0;
    }
    for (const cell of document.querySelectorAll("[data-of]")) {
      const card = document.getElementById(cell.dataset.of);
      if (card) cell.hidden = card.hidden;
    }
    for (const group of document.querySelectorAll("[data-group]")) group.hidden = !group.querySelector("[data-s]:not([hidden])");
    count.textContent = `${shown} of ${items.length} shown`;
  };
  const reveal = (hash) => {
    const card = hash.length > 1 ? document.getElementById(hash.slice(1)) : null;
    if (!card || card.tagName !== "DETAILS") return;
    card.hidden = false;
    card.open = true;
    card.querySelector("summary").focus();
    card.scrollIntoView();
  };
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (link) setTimeout(() => reveal(link.hash));
  });
  addEventListener("hashchange", () => reveal(location.hash));
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details:not([open])")].filter((one) => !one.hidden);
    for (const one of opened) one.open = true;
  });
  addEventListener("afterprint", () => {
    for (const one of opened) one.open = false;
  });
  if (form) {
    form.hidden = false;
    form.addEventListener("input", (event) => {
      update();
      if (list && (event.target.name === "sort" || event.target.name === "on")) sort();
    });
    form.addEventListener("submit", (event) => event.preventDefault());
    count.textContent = `${items.length} of ${items.length} shown`;
  }
  reveal(location.hash);
})();
