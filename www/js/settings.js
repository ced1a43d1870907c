// The few settings of this device. Where storage is refused (private or embedded pages) they last as long as the page.

const PREFIX = "counterpoise.";
const inMemory = new Map();

/** A stored setting, or the given value where there is none. */
export function setting(name, otherwise) {
  if (inMemory.has(name)) return inMemory.get(name);
  try {
    const stored = localStorage.getItem(PREFIX + name);
    return stored === null ? otherwise : JSON.parse(stored);
  } catch {
    return otherwise;
  }
}

/** Remembers a setting. */
export function rememberSetting(name, value) {
  inMemory.set(name, value);
  try {
    localStorage.setItem(PREFIX + name, JSON.stringify(value));
  } catch {
    // Not worth a message: nothing of the work is lost.
  }
}
