// Light or dark: as the device says, or as chosen.

import { rememberSetting, setting } from "./settings.js";

const CHOICES = ["auto", "light", "dark"];
const DARK = matchMedia("(prefers-color-scheme: dark)");

/** Follows the choice; `changed(shade)` is told "light" or "dark". */
export function createTheme(changed) {
  let chosen = CHOICES.includes(setting("theme", "auto")) ? setting("theme", "auto") : "auto";
  let shade = "light";
  const apply = () => {
    shade = chosen === "auto" ? (DARK.matches ? "dark" : "light") : chosen;
    document.documentElement.dataset.theme = chosen;
    document.documentElement.dataset.shade = shade;
    changed?.(shade);
  };
  DARK.addEventListener("change", apply);
  apply();
  return {
    shade: () => shade,
    chosen: () => chosen,
    next() {
      chosen = CHOICES[(CHOICES.indexOf(chosen) + 1) % CHOICES.length];
      rememberSetting("theme", chosen);
      apply();
    },
    onChange(listener) {
      changed = listener;
    },
  };
}
