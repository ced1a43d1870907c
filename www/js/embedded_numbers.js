// The numbers of a report that a page around this one is told.

/** `{natural_mm, planned_mm, ci95_mm, within_error, removed_pct, added_pct, measures}`; `null` for what there is not yet. */
export function numbersOf(report) {
  const { natural_symmetry: natural, planned_symmetry: planned, areas } = report;
  const latest = planned ?? natural;
  const perSide = (key) => Object.fromEntries(["right", "left"].map((side) => [side, areas[side]?.[key] ?? null]));
  return {
    natural_mm: natural?.mean_distance_mm ?? null,
    planned_mm: planned?.mean_distance_mm ?? null,
    ci95_mm: latest?.ci95_mm ?? null,
    within_error: latest?.within_error ?? null,
    removed_pct: perSide("removed_pct"),
    added_pct: perSide("added_pct"),
    measures: (planned ? report.planned : report.natural).map(({ id, sides, difference, within_error: isWithin }) => ({
      id, right: sides.right?.value ?? null, left: sides.left?.value ?? null, difference: difference?.value ?? null, ci95: difference?.ci95 ?? null, within_error: isWithin,
    })),
  };
}
