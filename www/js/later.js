// Panels that are fetched when they are first shown, so that the first visit brings only what it begins with.

/** A panel in place of the one that `make` of the fetched module makes: passes on what it is told from then on. `isPresent()`
 *  says whether it is still the one to be shown when it has arrived, `show(panel)` brings it up to date, `meanwhile()` is called
 *  until then, `failed(error)` tells of a lost file. */
export function panelLater(fetch, make, { isPresent, show, meanwhile, failed }) {
  let panel = null;
  let arriving = null;
  const arrive = () => {
    meanwhile();
    arriving ??= fetch().then((module) => {
      panel = make(module);
      // The plan was loaded before the panel was there to be told.
      panel.loaded?.();
      if (isPresent()) show(panel);
    }).catch((error) => {
      arriving = null;
      failed(error);
    });
  };
  return {
    render: (...told) => panel?.render(...told),
    enter: () => (panel ? panel.enter?.() : arrive()),
    leave: () => panel?.leave?.(),
    report: (...told) => panel?.report?.(...told),
    asked: (...told) => panel?.asked?.(...told),
    loaded: () => panel?.loaded?.(),
    changed: (...told) => panel?.changed?.(...told),
    /** Settles when it has arrived, or was lost, where it is on its way. */
    arrived: () => arriving,
    /** Fetches its file before it is wanted; that it fails is told when it is wanted. */
    prepare: () => fetch().catch(() => {}),
  };
}
