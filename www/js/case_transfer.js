// Cases into a file and out of one. Nothing here is overwritten unless a person says so.

import { canSeal, CaseFileError, ENDING, FILE_BYTES, isSealed, readCases, writeCases } from "./case_file.js";
import { button, toggle } from "./controls.js";
import { ask, openDialog } from "./dialogs.js";
import { el, setText } from "./dom.js";
import { fileName, giveFile } from "./files.js";
import { text } from "./messages.js";
import { today } from "./moment.js";
import { addCase, listCases, loadCase, markExported, newId } from "./storage.js";
import { makeThumb } from "./thumbs.js";
import { restorePhoto } from "./photo.js";

/** Fewest characters of a password: a short one is guessed in an afternoon, whatever the cipher. */
const PASSWORD_CHARS = 8;

/** Asks what goes into the file; `{withPhotos, password}` or `null`. */
function askWhat(count) {
  return openDialog(text("export.title", { count }), (close) => {
    const photos = toggle(text("export.photos"), { id: "export-photos", hint: text("export.photos_hint") });
    photos.input.checked = true;
    const field = (id) => el("input", { type: "password", id, autocomplete: "new-password", disabled: !canSeal() });
    const [one, again] = [field("export-password"), field("export-again")];
    const said = el("p", { class: "hint warn", role: "alert", id: "export-said" });
    const go = () => {
      const password = one.value;
      if (password && password.length < PASSWORD_CHARS) return setText(said, text("export.too_short", { count: PASSWORD_CHARS }));
      if (password !== again.value) return setText(said, text("export.not_same"));
      return close({ withPhotos: photos.input.checked, password });
    };
    return [
      photos.node,
      el("p", { class: "hint", text: text(canSeal() ? "export.password_hint" : "case_file.no_crypto") }),
      el("div", { class: "field" }, el("label", { for: one.id, text: text("export.password") }), one),
      el("div", { class: "field" }, el("label", { for: again.id, text: text("export.again") }), again),
      said,
      el("div", { class: "answers" }, button(text("export.go"), { id: "export-go", kind: "button primary", iconName: "save", on: go }), button(text("dialog.cancel"), { on: () => close(null) })),
    ];
  });
}

/** Writes these cases to a file. Says what became of it; `null` where it was given up. */
export async function exportCases(app, ids) {
  const wanted = await askWhat(ids.length);
  if (!wanted) return null;
  const at = new Date();
  const cases = [];
  for (const id of ids) {
    const found = await loadCase(id);
    if (found) cases.push(found);
  }
  const parts = await writeCases(cases, { ...wanted, at });
  const name = fileName(cases.length === 1 ? cases[0].head.label : text("export.file"), today(), ENDING);
  const way = await giveFile(name, "application/octet-stream", new Blob(parts));
  if (way === "cancelled") return null;
  await markExported(cases.map(({ head }) => head.id), at.toISOString());
  app.inFile(Object.fromEntries(cases.map(({ head, text: plan }) => [head.id, plan])), at.toISOString());
  return text(`files.${way}`, { name });
}

function askPassword() {
  return openDialog(text("import.password_title"), (close) => {
    const input = el("input", { type: "password", id: "import-password", autocomplete: "off" });
    const go = () => close(input.value);
    input.addEventListener("keydown", (event) => event.key === "Enter" && go());
    return [
      el("p", { class: "hint", text: text("import.password_hint") }),
      el("div", { class: "field" }, el("label", { for: input.id, text: text("export.password") }), input),
      el("div", { class: "answers" }, button(text("import.go"), { id: "import-go", kind: "button primary", iconName: "open", on: go }), button(text("dialog.cancel"), { on: () => close(null) })),
    ];
  });
}

/** A case of a file as it is stored. Throws the core's refusal where its plan cannot be read. */
async function asStored(app, { id, changedAt, photoId, text: planText, photos }, at) {
  const read = app.engine.open(planText);
  const plan = JSON.parse(read);
  const base = photos.find((photo) => photo.id === photoId);
  let thumb;
  try {
    const picture = base && (await restorePhoto(base));
    thumb = picture && (await makeThumb(picture.bitmap, plan.landmarks));
    picture?.bitmap.close?.();
  } catch {
    // The list does without; opening the case says what is wrong with its photo.
  }
  const head = {
    id, label: plan.case.label, date: plan.case.date, exportedAt: at, isInFile: true, isDemo: false, isBlank: false,
    photoId: base ? photoId : null, agreedAt: plan.agreements?.at(-1)?.at ?? null, changedAt };
  return { head, text: read, photos, thumb };
}

/** Takes the cases of a file into the book. Gives `{words, isProblem}`. Throws CaseFileError before anything is written. */
export async function importCases(app, file) {
  if (file.size > FILE_BYTES) throw new CaseFileError("too_large", { size: Math.round(file.size / 1048576), limit: FILE_BYTES / 1048576 });
  const bytes = new Uint8Array(await file.arrayBuffer());
  let password = "";
  if (isSealed(bytes)) {
    if (!canSeal()) throw new CaseFileError("no_crypto");
    password = await askPassword();
    if (password === null) return { words: "", isProblem: false };
  }
  const { cases } = await readCases(bytes, password);
  const known = new Map((await listCases()).map((head) => [head.id, head]));
  const at = new Date().toISOString();
  const count = { added: 0, same: 0, kept: 0, replaced: 0, left: 0, unreadable: 0, missing: 0 };
  const differing = [];
  for (const one of cases) {
    let stored;
    try {
      stored = await asStored(app, one, at);
    } catch (error) {
      if (typeof error?.code !== "string") throw error;
      count.unreadable += 1;
      continue;
    }
    count.missing += one.missing;
    const mine = known.has(stored.head.id) ? await loadCase(stored.head.id) : null;
    if (!mine) {
      await addCase(stored);
      known.set(stored.head.id, stored.head);
      count.added += 1;
    } else if (mine.text !== stored.text) differing.push(stored);
    else if (stored.photos.some(({ id }) => !mine.photos.some((photo) => photo.id === id))) {
      // The same plan, and photos that this device had lost.
      const photos = [...mine.photos, ...stored.photos.filter(({ id }) => !mine.photos.some((photo) => photo.id === id))];
      await addCase({ head: { ...mine.head, photoId: mine.head.photoId ?? stored.head.photoId }, text: mine.text, photos, thumb: stored.thumb });
      count.replaced += 1;
    } else count.same += 1;
  }
  if (differing.length) await settle(app, differing, count);
  const words = ["added", "same", "kept", "replaced", "left", "unreadable", "missing"].filter((kind) => count[kind]).map((kind) => text(`import.${kind}`, { count: count[kind] }));
  return { words: words.join(" ") || text("import.nothing"), isProblem: count.unreadable + count.missing > 0 };
}

/** Cases that are here already and differ: a person says what becomes of them. */
async function settle(app, differing, count) {
  const answer = await ask({
    title: text("import.differ_title", { count: differing.length }), body: text("import.differ_body"),
    answers: [
      { id: "both", text: text("import.keep_both"), primary: true },
      { id: "file", text: text("import.take_file") },
      { id: null, text: text("import.leave") },
    ],
  });
  for (const stored of differing) {
    if (answer === "both") {
      await addCase({ ...stored, head: { ...stored.head, id: newId() } });
      count.kept += 1;
    } else if (answer === "file") {
      const isOpen = stored.head.id === app.caseId();
      if (isOpen) app.dropCase();
      if (isOpen) await app.autosave.now();
      await addCase(stored);
      if (isOpen) await app.openCase(stored.head.id);
      count.replaced += 1;
    } else count.left += 1;
  }
}
