// The work in hand: plan and photo opened, replaced, kept, saved. Whatever replaces it can be brought back.

import { readBlob, readText } from "./assets.js";
import { createAutosave } from "./autosave.js";
import { createCaseHold } from "./case_hold.js";
import { ask } from "./dialogs.js";
import { drawingPng, drawingSvg } from "./exports.js";
import { fileName, giveFile, readPlanFile } from "./files.js";
import { storageWhy, text } from "./messages.js";
import { PhotoError, readPhoto, restorePhoto } from "./photo.js";
import { createPosePhotos, posePhotoKeys, storedPosePhotos } from "./pose_photos.js";
import { rememberSetting, setting } from "./settings.js";
import { isKept, loadCase, loadCurrent, makeCurrent, newId, removeAll } from "./storage.js";
import { makeThumb, thumbKey } from "./thumbs.js";

/** A plan with nothing in it, as a file. */
export const BLANK = JSON.stringify({ format: "counterpoise-plan", version: 1 });
/** The demo case, and the pictures of those that come with the page. */
const FIRST = "first";
const PICTURES = { first: "face.svg" };
const PICTURE_TYPES = { svg: "image/svg+xml", png: "image/png", jpg: "image/jpeg", jpeg: "image/jpeg", webp: "image/webp" };
const pictureType = (name) => PICTURE_TYPES[name.split(".").at(-1).toLowerCase()];
/** How long a start waits for storage that does not answer, ms. */
const STORAGE_WAIT_MS = 4000;

/** What takes the place of storage in a page that another page shows: nothing of a case is read or kept there. */
const NOT_KEPT = { later() {}, now: () => Promise.resolve(true), pause() {}, startFrom() {} };
const NOT_HELD = { claim: () => Promise.resolve(true), take: () => Promise.resolve(true), elsewhere: () => Promise.resolve(new Set()) };

export function createWork({ engine, store, stage, messages, wording, shade, view, goTo, showSaved, showElsewhere, isEmbedded }) {
  let photo = null;
  let isDemo = false;
  let previous = null;
  let savedText = "";
  let caseId = newId();
  let exportedAt = null;
  let isStarted = false;
  /** Another window works on the case: here it is only shown. */
  let isShownOnly = false;
  /** A stored photo that could not be decoded just now: it stays stored, for a day with more memory. */
  let unreadPhoto = null;
  const posePhotos = createPosePhotos(() => stage.repaint());

  const refused = (error) => messages.problem(error?.code ? wording.refusal(error) : text("error.unexpected", { detail: String(error?.message ?? error) }));
  /** What the case book's list shows of the work, apart from when it was stored. */
  const headNow = () => {
    const { case: { label, date }, agreements } = store.plan;
    return {
      id: caseId, label, date, exportedAt, isInFile: store.keptText === savedText, isDemo, isBlank: !isDemo && !photo && !label && isUntouched(store.plan),
      photoId: (photo ?? unreadPhoto)?.id ?? null, agreedAt: agreements?.at(-1)?.at ?? null };
  };
  const allPhotos = () => [...[photo ?? unreadPhoto].filter(Boolean).map(({ id, bytes, type }) => ({ id, bytes, type })), ...posePhotos.files(posePhotoKeys(store.plan))];
  const autosave = isEmbedded ? NOT_KEPT : createAutosave({
    state() {
      const [picture, { landmarks }] = [photo?.bitmap, store.plan];
      return { head: headNow(), planText: store.keptText, photos: allPhotos(), thumbKey: thumbKey((photo ?? unreadPhoto)?.id, landmarks), thumb: () => makeThumb(picture, landmarks) };
    },
    show: (state, detail) => showSaved(isDemo && state === "saved" ? "demo" : state, detail, store.planText === savedText),
    changedElsewhere(id) {
      const mine = newId();
      if (id === caseId) {
        caseId = mine;
        hold.claim(mine);
      }
      messages.problem(text("elsewhere.two_kept"));
      return mine;
    },
  });
  const hold = isEmbedded ? NOT_HELD : createCaseHold({ giveUp: () => autosave.now(), lost: () => onlyShow(true) });

  /** The case is another window's, or this one's again. */
  function onlyShow(isOn) {
    isShownOnly = isOn;
    store.freeze(isOn);
    autosave.pause(isOn);
    showElsewhere(isOn);
  }

  /** Goes on with the case here; the other window shows it from then on. */
  async function workHere() {
    const id = caseId;
    if (!(await hold.take(id)) || id !== caseId) return;
    try {
      const kept = await loadCase(id);
      if (!kept) throw new DOMException("gone", "NotFoundError");
      await restore(kept, { keepPrevious: false });
    } catch (error) {
      messages.problem(text("book.failed", { why: storageWhy(error) }));
    }
  }

  const withId = (read) => ({ ...read, id: newId() });

  /** Puts another plan and photo in place, as another case unless `id` says which; the present ones are kept for `bringBack`. */
  function put(planText, nextPhoto, { id = newId(), demo = false, keepPrevious = true, isInFile = demo, exported = null, ofPoses = new Map(), isFlushed = false, unread = null, isMine = true } = {}) {
    // What was done last may not have been stored yet. The state is taken now; writing it takes a while.
    if (isStarted && !isFlushed) autosave.now();
    isStarted = true;
    if (keepPrevious && !isDemo && store.planText) previous = { planText: store.planText, photo, ofPoses: posePhotos.all(), savedText, id: caseId, exported: exportedAt };
    photo = nextPhoto;
    caseId = id;
    onlyShow(!isMine);
    hold.claim(isMine ? id : null);
    exportedAt = exported;
    unreadPhoto = unread;
    posePhotos.replace(ofPoses);
    isDemo = demo;
    savedText = isInFile ? planText : "";
    stage.setPhoto(photo?.bitmap ?? null);
    store.load(planText);
    stage.fit();
    if (isEmbedded) showSaved("embedded");
  }

  const offerBack = () => (previous ? { text: text("work.bring_back"), act: bringBack } : undefined);

  async function bringBack() {
    if (!previous) return;
    const back = previous;
    previous = null;
    const isMine = await hold.claim(back.id);
    put(back.planText, back.photo, { id: back.id, keepPrevious: false, ofPoses: back.ofPoses, isInFile: back.planText === back.savedText, exported: back.exported, isMine });
    messages.note(text("work.is_back"));
  }

  const isUntouched = (plan) => isDemo || (!plan.natural.right && !plan.natural.left && Object.keys(plan.landmarks).length === 0 && !plan.planned.right && !plan.planned.left);

  /** Reads a photo and says so; `null` where it cannot be read, which is said as well. */
  async function readAloud(file) {
    messages.note(text("photo.reading"));
    try {
      const read = withId(await readPhoto(file));
      messages.close();
      return read;
    } catch (error) {
      messages.problem(error instanceof PhotoError ? text(`photo.${error.code}`, error.values) : text("photo.undecodable"));
      return null;
    }
  }

  /** Reads the photo of a pose. Gives what the plan says of it, `{key, photo: {width_px, height_px}}`, or `null`. Where the plan
   *  already has a photo of this size whose pixels are missing (`missing`: what it says of that), these are taken for them. */
  async function openPosePhoto(file, missing) {
    const planText = store.planText;
    const read = await readAloud(file);
    // Another plan may have been opened while the photo was read.
    if (!read || store.planText !== planText) return null;
    if (isShownOnly) {
      refused({ code: "shown_only", values: {} });
      return null;
    }
    const isSame = missing && missing.photo.width_px === read.width && missing.photo.height_px === read.height;
    const key = isSame ? missing.key : read.id;
    posePhotos.add(key, read);
    if (isSame) {
      autosave.later();
      messages.note(text("photo.attached"));
    }
    return { key, photo: { width_px: read.width, height_px: read.height } };
  }

  async function openPhoto(file) {
    const read = await readAloud(file);
    if (!read) return;
    const { plan } = store;
    // The demo's plan never takes a person's photo: that begins a case of its own.
    if (!isDemo && !isShownOnly && plan.photo && !photo) {
      if (plan.photo.width_px === read.width && plan.photo.height_px === read.height) {
        photo = read;
        stage.setPhoto(photo.bitmap);
        stage.fit();
        autosave.later();
        messages.note(text("photo.attached"));
        goTo("photo");
        return;
      }
    }
    let base = engine.open(BLANK);
    // Where another window works on the case, a photo begins a case of its own.
    if (!isUntouched(plan) && !isShownOnly) {
      const answer = await ask({
        title: text("photo.ask_title"), body: text("photo.ask_body"),
        answers: [
          { id: "new", text: text("photo.ask_new"), primary: true },
          { id: "same", text: text("photo.ask_same") },
          { id: null, text: text("dialog.cancel") },
        ],
      });
      if (!answer) return;
      if (answer === "same") base = store.planText;
    } else if (!isDemo && !isShownOnly) base = store.planText;
    try {
      const next = engine.apply(base, { do: "set_photo", photo: { width_px: read.width, height_px: read.height, mirrored: false } });
      const isSame = base === store.planText;
      put(next, read, { ofPoses: isSame ? posePhotos.all() : new Map(), ...(isSame ? { id: caseId, exported: exportedAt } : {}) });
      messages.note(text("photo.opened"), offerBack());
      goTo("photo");
    } catch (error) {
      refused(error);
    }
  }

  async function openPlan(file) {
    try {
      const next = engine.open(await readPlanFile(file));
      put(next, null, { isInFile: true });
      messages.note(text(store.plan.photo ? "work.opened_without_photo" : "work.opened", { name: file.name }), offerBack());
      goTo(store.plan.photo ? "photo" : "shape");
    } catch (error) {
      refused(error);
    }
  }

  /** The plan of a link that somebody passed on: a case of its own, without a photo. */
  async function openLink(fragment) {
    const { planIn } = await import("./share_link.js");
    try {
      put(engine.open(await planIn(fragment)), null);
      messages.note(text("share.opened"), offerBack());
      goTo("shape");
    } catch (error) {
      if (typeof error === "string") messages.problem(text(`share.${error}`));
      else refused(error);
    }
  }

  /** Shows a link to the plan, to be passed on. */
  async function shareLink() {
    const { showLink } = await import("./share_link.js");
    await showLink(engine.shareable(store.keptText));
  }

  /** A picture that comes with the page; `null` without a name. */
  const readPicture = async (name) => (name ? withId(await readPhoto(await readBlob(`demo/${name}`, pictureType(name)))) : null);

  /** A case that comes with the page. */
  async function openDemo({ id = FIRST, quietly = false } = {}) {
    try {
      const [planText, picture] = await Promise.all([readText(`demo/${id}.counterpoise.json`), readPicture(PICTURES[id])]);
      put(engine.open(planText), picture, { demo: true, keepPrevious: !quietly });
      if (!quietly) messages.note(text("work.demo_opened"), offerBack());
      goTo("shape");
      return true;
    } catch {
      if (id !== FIRST) {
        messages.problem(text("fragment.case"));
        return false;
      }
      if (quietly) put(engine.open(BLANK), null, { keepPrevious: false });
      messages.problem(text("work.demo_missing"));
      goTo("photo");
      return false;
    }
  }

  /** A case of a lesson or an exercise, which is never kept in the book. `false` where its picture is missing. */
  async function showExample(planText, picture) {
    // Without its picture it is drawn all the same; whoever asked for it says so.
    const read = await readPicture(picture).catch(() => null);
    put(planText, read, { demo: true });
    return Boolean(read) || !picture;
  }

  /** Brings back what this device kept; the demo where it kept nothing. */
  async function start() {
    let kept = null;
    if (isEmbedded) return openDemo({ quietly: true });
    const loading = loadCurrent();
    try {
      const waited = new Promise((_, reject) => setTimeout(() => reject(new DOMException("no answer", "TimeoutError")), STORAGE_WAIT_MS));
      kept = await Promise.race([loading, waited]);
    } catch (error) {
      showSaved("failed", error, true);
      if (error.name === "TimeoutError") {
        // What is stored meanwhile would be what it answers with.
        autosave.after(loading);
        loading.then(comesLate, () => {});
      }
    }
    // The demo in another window is no reason to watch it there.
    const isMine = !kept || (await hold.claim(kept.head.id));
    if (kept && (isMine || isKept(kept.head)) && (await restore(kept, { isMine }))) {
      goTo(setting("step", "photo"));
      return;
    }
    await openDemo({ quietly: true });
  }

  /** Storage that was slow to answer: her work takes the demo's place, unless she has begun something else. */
  async function comesLate(kept) {
    if (!kept || !isKept(kept.head) || !isDemo || store.canUndo) return;
    if (await restore(kept, { keepPrevious: false })) goTo(setting("step", "photo"));
  }

  /** Puts the kept work in place; `false` where this version cannot read it. */
  async function restore({ head, text: keptText, photos }, { isMine, keepPrevious = isStarted } = {}) {
    let planText;
    try {
      planText = engine.open(keptText);
    } catch (error) {
      // The demo will take its place on this device, so the person can keep it as a file.
      messages.problem(text("work.unreadable", { why: wording.refusal(error) }), { text: text("work.unreadable_save"), act: () => giveFile("kept.counterpoise.json", "application/json", keptText) });
      return false;
    }
    const [base, ofPoses] = [photos.find(({ id }) => id === head.photoId), photos.filter(({ id }) => id !== head.photoId)];
    let keptPhoto = null;
    if (base) {
      try {
        keptPhoto = { ...(await restorePhoto(base)), id: base.id };
      } catch {
        messages.problem(text("work.photo_lost"));
      }
    }
    const { isDemo: demo, isInFile, exportedAt: exported } = head;
    isMine ??= await hold.claim(head.id);
    if (isStarted) await autosave.now();
    autosave.startFrom(head, keptText, planText, photos.map(({ id }) => id), thumbKey(head.photoId, JSON.parse(planText).landmarks));
    put(planText, keptPhoto, { isFlushed: true, unread: keptPhoto ? null : base ?? null, id: head.id, ofPoses: storedPosePhotos(ofPoses), demo, keepPrevious, isInFile, exported, isMine });
    if (isMine) showSaved(demo ? "demo" : "saved", new Date(head.changedAt), isInFile);
    return true;
  }

  /** Opens a case of the case book. `true` where it is open now. */
  async function openCase(id) {
    if (id === caseId) return true;
    try {
      const kept = await loadCase(id);
      if (!kept) throw new DOMException("gone", "NotFoundError");
      if (!(await restore(kept))) return false;
      await makeCurrent(id);
      // Where the case before could not be stored it is still in memory.
      messages.note(text("work.opened", { name: store.plan.case.label || text("book.no_name") }), offerBack());
      return true;
    } catch (error) {
      messages.problem(text("book.failed", { why: storageWhy(error) }));
      return false;
    }
  }

  const caseOf = () => store.plan.case;
  /** The drawing as SVG. Only a photo that goes with it is waited for, so that a click without one is still a click. */
  function drawing() {
    const options = { shade: shade(), layers: view().layers, photo: null };
    if (!photo || !setting("exportPhoto", false)) return drawingSvg(engine, store.planText, options);
    return photo.bytes.then((bytes) => drawingSvg(engine, store.planText, { ...options, photo: { bytes, type: photo.type } }));
  }

  /** Says what became of a file. */
  const told = (outcome, name) => outcome !== "cancelled" && messages.note(text(outcome === "saved" ? "files.saved" : "files.downloaded", { name }));

  return {
    openPhoto,
    openPosePhoto,
    posePhotos,
    openPlan,
    openDemo,
    showExample,
    openLink,
    shareLink,
    bringBack,
    start,
    autosave,
    hasPhoto: () => Boolean(photo),
    photoBitmap: () => photo?.bitmap ?? null,
    hasPrevious: () => Boolean(previous),
    openCase,
    workHere,
    /** The cases that other windows work on. */
    casesElsewhere: () => hold.elsewhere(),
    /** The case in work. */
    caseId: () => caseId,
    /** Begins the plan of the touch-up as a case of its own, on the new photo; the agreed one stays in the case book. */
    async startTouchUp(name) {
      const { key } = store.plan.touch_up.photo;
      try {
        const next = engine.apply(store.keptText, { do: "start_touch_up_plan", name });
        const [file] = posePhotos.files([key]);
        const read = file ? withId(await restorePhoto({ bytes: await file.bytes, type: file.type })) : null;
        put(next, read);
        messages.note(text("later.started"), offerBack());
        goTo("points");
      } catch (error) {
        refused(error);
      }
    },
    /** Files hold these cases from now on; `texts` are their plans by id. */
    inFile(texts, at) {
      if (!(caseId in texts)) return;
      exportedAt = at;
      savedText = texts[caseId];
      showSaved("saved", new Date(), store.planText === savedText);
      autosave.later();
    },
    /** The case in work was taken out of the book: a new one begins. */
    dropCase() {
      previous = null;
      put(engine.open(BLANK), null, { keepPrevious: false });
      goTo("photo");
    },
    openFile: (file) => (/\.json$/i.test(file.name) || file.type === "application/json" ? openPlan(file) : openPhoto(file)),

    newCase() {
      put(engine.open(BLANK), null);
      messages.note(text("work.new"), offerBack());
      goTo("photo");
    },

    startWithoutPhoto() {
      if (isDemo || store.plan.photo) {
        put(engine.open(BLANK), null);
        messages.note(text("work.no_photo"), offerBack());
      }
      goTo("hair");
    },

    async savePlan() {
      const name = fileName(caseOf().label, caseOf().date, ".counterpoise.json");
      const planText = store.planText;
      const outcome = await giveFile(name, "application/json", planText);
      if (outcome === "cancelled") return;
      savedText = planText;
      exportedAt = new Date().toISOString();
      told(outcome, name);
      autosave.now();
      showSaved("saved", new Date(), true);
    },

    /** Gives a learner's work as a file, to be handed in. */
    async giveSubmission(id, content) {
      const name = `${id}.submission.json`;
      told(await giveFile(name, "application/json", content), name);
    },

    async savePhoto() {
      if (!photo) return;
      const name = fileName(caseOf().label, caseOf().date, ".jpg");
      told(await giveFile(name, photo.type, await photo.bytes), name);
    },

    async exportSvg() {
      try {
        const name = fileName(caseOf().label, caseOf().date, ".svg");
        told(await giveFile(name, "image/svg+xml", await drawing()), name);
      } catch (error) {
        refused(error);
      }
    },

    async exportPng() {
      try {
        const name = fileName(caseOf().label, caseOf().date, ".png");
        told(await giveFile(name, "image/png", await drawingPng(await drawing())), name);
      } catch (error) {
        refused(error);
      }
    },

    exportsPhoto: () => setting("exportPhoto", false),
    setExportPhoto: (isOn) => rememberSetting("exportPhoto", isOn),

    async forgetAll() {
      const answer = await ask({
        title: text("privacy.forget_title"), body: text("privacy.forget_body"),
        answers: [{ id: "forget", text: text("privacy.forget"), primary: true }, { id: null, text: text("dialog.cancel") }],
      });
      if (answer !== "forget") return;
      try {
        previous = null;
        put(engine.open(BLANK), null, { keepPrevious: false });
        await autosave.now();
        await removeAll();
        messages.note(text("privacy.forgotten"));
      } catch (error) {
        messages.problem(text("storage.failed", { why: storageWhy(error) }));
      }
      goTo("photo");
    },

    /** The outline that the core fits to a side's natural brow, or `null`. Nothing of the plan changes. */
    fittedOutline(side) {
      try {
        return JSON.parse(engine.apply(store.planText, { do: "start_from_natural", sides: [side] })).planned[side];
      } catch {
        return null;
      }
    },
  };
}
