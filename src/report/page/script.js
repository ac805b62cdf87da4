"use strict";
(() => {
  const form = document.querySelector("form");
  const cards = [...document.querySelectorAll("details[data-s]")];
  const list = document.getElementById("presets");
  const count = document.getElementById("shown");
  const original = new Map(cards.map((card, i) => [card, i]));
  form.hidden = false;
  const value = (name) => form.elements[name].value;
  const marks = () => [...form.querySelectorAll("input[type=checkbox]:checked")].map((box) => box.value);
  const standing = (card) => {
    const on = value("on");
    return on === "" ? card.dataset.s : card.dataset.on[Number(on)];
  };
  const keys = {
    worst: (card) => "RSAUDNI".indexOf(standing(card)),
    slot: (card) => Number(card.dataset.slot),
    name: (card) => card.dataset.name.toLowerCase(),
  };
  const update = () => {
    const words = value("text").toLowerCase();
    const wanted = marks();
    let shown = 0;
    for (const card of cards) {
      const fits = wanted.includes(standing(card)) && card.textContent.toLowerCase().includes(words);
      card.hidden = !fits;
      shown += fits ? 1 : 0;
    }
    for (const cell of document.querySelectorAll("[data-of]")) {
      const card = document.getElementById(cell.dataset.of);
      if (card) cell.hidden = card.hidden;
    }
    count.textContent = `${shown} of ${cards.length} shown`;
    const key = keys[value("sort")];
    const order = (a, b) => {
      const x = key(a), y = key(b);
      return x < y ? -1 : x > y ? 1 : original.get(a) - original.get(b);
    };
    list.append(...[...cards].sort(order));
  };
  form.addEventListener("input", update);
  form.addEventListener("submit", (event) => event.preventDefault());
  const open = () => {
    const card = document.getElementById(location.hash.slice(1));
    if (card && card.tagName === "DETAILS") { card.open = true; card.scrollIntoView(); }
  };
  addEventListener("hashchange", open);
  addEventListener("beforeprint", () => { for (const card of cards) if (!card.hidden) card.open = true; });
  open();
  update();
})();
