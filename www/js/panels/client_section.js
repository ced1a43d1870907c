// What the client may change, and in which tone she sees it. Stands in the check, before the sheet.

import { button, choice, folded, section, slider } from "../controls.js";
import { el } from "../dom.js";
import { text } from "../messages.js";
import { rememberSetting, setting } from "../settings.js";

/** Tones of the preview: names and colours of our own, from cool to dark. */
const PIGMENTS = { ash: "#6d645c", taupe: "#6b5344", chestnut: "#653c28", espresso: "#3d2a22" };

export function createClientSection(app) {
  const { describe, store } = app;
  const nameOf = (id) => id.slice("client.".length);
  const fields = describe.fields.filter(({ id }) => id.startsWith("client."));
  const current = () => Object.fromEntries(fields.map(({ id: limit }) => [nameOf(limit), store.plan.client?.[nameOf(limit)] ?? fieldOf(limit).default]));
  const fieldOf = (id) => describe.fields.find((field) => field.id === id);
  const asEdit = (id, value) => ({ do: "set_client", client: { ...current(), [nameOf(id)]: value } });
  const limits = fields.map(({ id: limit }) => ({
    limit,
    control: slider({
      ...fieldOf(limit), id: `client-${nameOf(limit)}`, label: text(`field.${limit}`), dataName: "client", refuse: app.problem,
      move: (value) => app.preview(asEdit(limit, value)), keep: () => app.keep(), drop: () => app.drop(), jump: (value) => app.commit(asEdit(limit, value)),
    }),
  }));
  const pigment = () => (setting("pigment", "taupe") in PIGMENTS ? setting("pigment", "taupe") : "taupe");
  const tones = choice(text("client.pigment"), Object.keys(PIGMENTS).map((value) => ({ value, label: text(`client.pigment.${value}`), id: `pigment-${value}` })), (value) => {
    rememberSetting("pigment", value);
    tones.set(value);
  });
  tones.set(pigment());

  const start = button(text("client.start"), {
    id: "client-start", kind: "button primary wide", iconName: "mirror",
    on: async () => {
      const { openClientView } = await import("../client_view.js");
      openClientView(app, PIGMENTS[pigment()]);
    },
  });

  const node = section(text("client.title"), el("p", { class: "hint", text: text("client.how") }),
    el("h3", { text: text("client.pigment") }), tones.node,
    folded(text("client.limits"), el("p", { class: "hint", text: text("client.limits_hint") }), ...limits.map(({ control }) => control.node)),
    start);

  return {
    node,
    show() {
      const values = current();
      for (const { limit, control } of limits) control.set(values[nameOf(limit)]);
      start.disabled = !store.plan.planned.right && !store.plan.planned.left;
    },
  };
}
