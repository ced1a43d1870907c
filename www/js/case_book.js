// The case book: all cases on this device, found, opened, put into files, taken from files, deleted.

import { needStyle } from "./assets.js";
import { exportCases, importCases } from "./case_transfer.js";
import { button } from "./controls.js";
import { ask } from "./dialogs.js";
import { el, icon, replace, setText } from "./dom.js";
import { locale, storageWhy, text } from "./messages.js";
import { fixed } from "./numbers.js";
import { addCase, listCases, loadCase, loadThumbs, removeCases, storageLeft } from "./storage.js";

/** Rows that are made at once; the others follow while she looks at them. */
const FIRST_ROWS = 24;
const MORE_ROWS = 12;
/** Ages that can be asked for, months. */
const AGES = [6, 12, 24, 60];
const ORDERS = {
  changed: (a, b) => b.changedAt.localeCompare(a.changedAt),
  label: (a, b) => a.label.localeCompare(b.label) || b.changedAt.localeCompare(a.changedAt),
  measured: (a, b) => (b.date || "").localeCompare(a.date || "") || b.changedAt.localeCompare(a.changedAt),
};
const MEGABYTE = 1e6;

const monthsAgo = (months) => {
  const then = new Date();
  then.setMonth(then.getMonth() - months);
  return then.toISOString();
};
const dayWords = (iso) => new Date(iso).toLocaleDateString(locale(), { dateStyle: "medium" });
const failure = (error) => text("book.failed", { why: storageWhy(error) });

/** Opens the case book. */
export async function openCaseBook(app) {
  await needStyle("css/book.css");
  let heads = [];
  /** Cases that other windows work on: they can be looked at and put into files. */
  let elsewhere = new Set();
  let shown = [];
  let made = 0;
  const addresses = [];

  const find = el("input", { type: "search", id: "book-find", autocomplete: "off", placeholder: text("book.find"), "aria-label": text("book.find"), on: { input: () => render() } });
  const order = el("select", { id: "book-order", "aria-label": text("book.order"), on: { change: () => render() } },
    ...Object.keys(ORDERS).map((value) => el("option", { value, text: text(`book.order.${value}`) })));
  const age = el("select", { id: "book-age", "aria-label": text("book.age"), on: { change: () => render() } },
    el("option", { value: "", text: text("book.age_any") }), ...AGES.map((months) => el("option", { value: months, text: text("book.age_over", { months }) })));
  const said = el("p", { class: "book-said", id: "book-said", role: "status" });
  const undo = button(text("work.bring_back"), { id: "book-undo", iconName: "undo" });
  undo.hidden = true;
  const list = el("ul", { class: "cases", id: "cases" });
  const none = el("p", { class: "hint", id: "book-none" });
  const count = el("p", { class: "hint", id: "book-count", role: "status" });
  const left = el("p", { class: "hint", id: "book-left" });
  const keep = button(text("book.persist"), { id: "book-persist", iconName: "lock", on: () => persist() });
  const exportAll = button(text("book.export_shown"), { id: "book-export", iconName: "save", on: () => put(shown) });
  const removeAll = button(text("book.delete_shown"), { id: "book-delete", iconName: "close", on: () => remove(shown.filter(isHere)) });
  const take = el("input", { type: "file", class: "file-input", id: "book-import", accept: ".counterpoise-cases,application/octet-stream", "aria-label": text("book.import"), on: { change: () => bring() } });

  const dialog = el("dialog", { class: "book", id: "book", "aria-labelledby": "book-title" },
    el("div", { class: "dialog-head" }, el("h2", { id: "book-title", text: text("book.title") }),
      el("button", { type: "button", class: "message-close", id: "book-close", "aria-label": text("dialog.close"), on: { click: () => dialog.close() } }, icon("close"))),
    el("div", { class: "book-tools" }, find, order, age),
    el("div", { class: "book-line" }, said, undo),
    el("div", { class: "book-list", tabindex: 0, autofocus: true, role: "region", "aria-labelledby": "book-title" }, none, list),
    el("div", { class: "book-foot" }, count, left,
      el("div", { class: "pair" }, exportAll, el("span", { class: "file-button" }, take, el("label", { class: "button", for: take.id }, icon("open"), el("span", { text: text("book.import") }))), keep, removeAll)));
  dialog.addEventListener("close", () => {
    addresses.forEach((address) => URL.revokeObjectURL(address));
    watch.disconnect();
    dialog.remove();
  });

  const say = (words, isProblem = false) => {
    setText(said, words);
    said.dataset.level = isProblem ? "problem" : "note";
    undo.hidden = true;
  };
  /** Does something with the store, and says it where that fails. */
  async function trying(work) {
    try {
      return await work();
    } catch (error) {
      if (error?.code === undefined && !(error instanceof DOMException)) console.error(error);
      say(typeof error?.code === "string" ? text(`case_file.${error.code}`, error.values) : failure(error), true);
      return undefined;
    }
  }

  const isHere = (head) => !elsewhere.has(head.id);

  // Thumbnails come when their row does.
  const waiting = new Map();
  const watch = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) {
      if (!isIntersecting) continue;
      watch.unobserve(target);
      waiting.set(target.dataset.case, target);
    }
    if (waiting.size) trying(fill);
  }, { rootMargin: "200px" });
  async function fill() {
    const wanted = new Map(waiting);
    waiting.clear();
    if (!wanted.size) return;
    for (const [id, bytes] of await loadThumbs([...wanted.keys()])) {
      const address = URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" }));
      addresses.push(address);
      replace(wanted.get(id).firstElementChild, el("img", { src: address, alt: "", width: 96, height: 56 }));
    }
  }

  function row(head) {
    const name = head.label || text("book.no_name");
    const isCurrent = head.id === app.caseId();
    const act = (id, iconName, on) => {
      const made = button(text(`book.${id}`), { iconName, data: { act: id }, on });
      made.setAttribute("aria-label", text("book.act", { act: text(`book.${id}`), name }));
      return made;
    };
    const file = head.isInFile ? text("book.in_file", { date: dayWords(head.exportedAt ?? head.changedAt) }) : head.exportedAt ? text("book.in_old_file", { date: dayWords(head.exportedAt) }) : text("book.in_no_file");
    const node = el("li", { class: "case", data: { case: head.id } },
      el("span", { class: "case-thumb", "aria-hidden": "true" }, icon(head.photoId ? "picture" : "calipers")),
      el("div", { class: "case-words" },
        el("p", { class: "case-label", text: name }),
        el("p", { class: "hint", text: [head.date ? text("book.measured", { date: dayWords(`${head.date}T12:00`) }) : "", text("book.changed", { date: dayWords(head.changedAt) }), head.agreedAt ? text("book.agreed") : "", elsewhere.has(head.id) ? text("book.elsewhere") : ""].filter(Boolean).join(" · ") }),
        el("p", { class: head.isInFile ? "hint" : "hint wants", text: file })),
      el("div", { class: "case-acts" },
        isCurrent ? el("span", { class: "hint strong", text: text("variants.taken") }) : act("open", "open", () => open(head)),
        act("export", "save", () => put([head])),
        elsewhere.has(head.id) ? null : act("delete", "close", () => remove([head]))));
    watch.observe(node);
    return node;
  }

  function more(many) {
    list.append(...shown.slice(made, made + many).map(row));
    made = Math.min(shown.length, made + many);
  }

  function render() {
    const wanted = find.value.trim().toLocaleLowerCase();
    const before = age.value ? monthsAgo(Number(age.value)) : null;
    shown = heads
      .filter((head) => (!wanted || head.label.toLocaleLowerCase().includes(wanted) || head.date.includes(wanted)) && (!before || head.changedAt < before))
      .sort(ORDERS[order.value]);
    watch.disconnect();
    list.replaceChildren();
    made = 0;
    more(FIRST_ROWS);
    const isAll = shown.length === heads.length;
    setText(none, heads.length ? text("book.none_found") : text("book.empty"));
    none.hidden = shown.length > 0;
    setText(count, text(isAll ? "book.count" : "book.count_shown", { count: heads.length, shown: shown.length }));
    exportAll.disabled = shown.length === 0;
    removeAll.disabled = !shown.some(isHere);
    setText(exportAll.lastElementChild, text(isAll ? "book.export_all" : "book.export_shown"));
    setText(removeAll.lastElementChild, text(isAll ? "book.delete_all" : "book.delete_shown"));
  }

  async function refresh() {
    heads = (await trying(listCases)) ?? heads;
    elsewhere = await app.casesElsewhere();
    render();
    const room = await storageLeft();
    const [isKept, canAsk] = [await navigator.storage?.persisted?.().catch(() => false), Boolean(navigator.storage?.persist)];
    keep.hidden = !canAsk || isKept;
    setText(left, [room ? text("book.room", { used: fixed(room.used / MEGABYTE, 1), free: Math.round(room.free / MEGABYTE) }) : text("book.room_unknown"), text(isKept ? "book.kept" : "book.may_go")].join(" "));
  }

  async function persist() {
    const isKept = await navigator.storage.persist().catch(() => false);
    await refresh();
    say(text(isKept ? "book.persisted" : "book.not_persisted"), !isKept);
  }

  async function open(head) {
    if (!(await app.openCase(head.id))) return say(text("book.not_opened"), true);
    dialog.close();
    app.goTo("photo");
    return undefined;
  }

  /** Writes these cases to a file. */
  const put = (which) => trying(async () => {
    await app.autosave.now();
    const outcome = await exportCases(app, which.map(({ id }) => id));
    if (!outcome) return;
    await refresh();
    say(outcome);
  });

  async function remove(which) {
    const isOne = which.length === 1;
    const name = isOne ? which[0].label || text("book.no_name") : "";
    const unsaved = which.filter((head) => !head.isInFile).length;
    const answer = await ask({
      title: text(isOne ? "book.delete_one_title" : "book.delete_many_title", { name, count: which.length }),
      body: [text(isOne ? "book.delete_one_body" : "book.delete_many_body"), unsaved ? text("book.delete_unsaved", { count: unsaved }) : null],
      answers: [{ id: "delete", text: text("book.delete"), primary: true }, { id: null, text: text("dialog.cancel") }],
    });
    if (answer !== "delete") return;
    await trying(async () => {
      await app.autosave.now();
      const ids = which.map(({ id }) => id);
      // One case can be brought back while the book is open; many would not fit into memory.
      const back = isOne ? await loadCase(ids[0]) : null;
      const thumb = isOne ? (await loadThumbs(ids)).get(ids[0]) : undefined;
      const isCurrent = ids.includes(app.caseId());
      if (isCurrent) {
        app.dropCase();
        await app.autosave.now();
      }
      await removeCases(ids);
      await refresh();
      say(text(isOne ? "book.deleted_one" : "book.deleted_many", { name, count: ids.length }));
      if (!back) return;
      undo.hidden = false;
      undo.onclick = () => trying(async () => {
        await addCase({ ...back, thumb });
        await refresh();
        say(text("book.is_back", { name }));
      });
    });
  }

  async function bring() {
    const [file] = take.files;
    take.value = "";
    if (!file) return;
    say(text("book.reading"));
    const outcome = await trying(async () => {
      await app.autosave.now();
      return importCases(app, file);
    });
    // Where it broke off, what was taken until then is there. What became of it is said when the list shows it.
    await refresh();
    if (outcome) say(outcome.words, outcome.isProblem);
  }

  document.body.append(dialog);
  dialog.querySelector(".book-list").addEventListener("scroll", ({ target }) => {
    if (made < shown.length && target.scrollHeight - target.scrollTop < 3 * target.clientHeight) more(MORE_ROWS);
  }, { passive: true });
  await app.autosave.now();
  dialog.showModal();
  await refresh();
}
