// Questions and messages.

import { el, icon, setText } from "./dom.js";
import { text } from "./messages.js";

/** How long a plain message stays, ms. A problem stays until it is closed or another message comes. */
const STAYS_MS = 7000;

/** The one place of short messages. */
export function createMessages() {
  const root = document.getElementById("message");
  const words = document.getElementById("message-text");
  const action = document.getElementById("message-action");
  let timer = 0;
  let present = "";

  const close = () => {
    clearTimeout(timer);
    root.hidden = true;
    present = "";
  };
  document.getElementById("message-close").addEventListener("click", close);
  action.addEventListener("click", () => {
    const act = action.onact;
    close();
    act?.();
  });

  const show = (level, message, offer) => {
    clearTimeout(timer);
    root.dataset.level = level;
    root.setAttribute("role", level === "problem" ? "alert" : "status");
    root.querySelector("use").setAttribute("href", level === "problem" ? "#i-warn" : "#i-ok");
    action.hidden = !offer;
    action.onact = offer?.act;
    if (offer) setText(action, offer.text);
    root.hidden = false;
    setText(words, message);
    present = message;
    if (level !== "problem" && !offer) timer = setTimeout(close, STAYS_MS);
  };

  return {
    /** Something went as wished. */
    note: (message, offer) => show("note", message, offer),
    /** Something did not, and what to do about it. */
    problem: (message, offer) => show("problem", message, offer),
    /** Takes a message away where it is the one that is shown. */
    clear: (message) => (message === undefined || message === present) && close(),
    close,
  };
}

/** Asks a question with a few answers; resolves to the chosen answer's id, or `null` where it was closed. */
export function ask({ title, body, answers }) {
  return openDialog(title, (close) => [
    ...[body].flat().filter(Boolean).map((line) => el("p", { text: line })),
    el("div", { class: "answers" },
      ...answers.map((answer) => el("button", { type: "button", class: answer.primary ? "button primary" : "button", text: answer.text, on: { click: () => close(answer.id) } }))),
  ]);
}

/** Shows a dialog whose content is made by `content(close)`; resolves to what it was closed with. */
export function openDialog(title, content) {
  const dialog = document.getElementById("dialog");
  return new Promise((resolve) => {
    let result = null;
    const close = (value = null) => {
      result = value;
      dialog.close();
    };
    dialog.replaceChildren(
      el("div", { class: "dialog-head" },
        el("h2", { id: "dialog-title", text: title }),
        el("button", { type: "button", class: "message-close", "aria-label": text("dialog.close"), on: { click: () => close(null) } }, icon("close"))),
      ...content(close),
    );
    dialog.addEventListener("close", () => resolve(result), { once: true });
    dialog.showModal();
  });
}
