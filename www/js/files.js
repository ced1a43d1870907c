// Files in and out. Writing takes the way that works: a save dialog, the share sheet of tablets, or a download.

/** Largest plan file that is read at all; the core refuses the same. */
export const PLAN_BYTES = 25 * 1024 * 1024;

/** The text of a plan file. Throws {code, values} before reading one that is too large. */
export async function readPlanFile(file) {
  if (file.size > PLAN_BYTES) {
    throw { code: "too_large", subject: "", values: { size_mb: file.size / 1048576, limit_mb: PLAN_BYTES / 1048576 } };
  }
  return file.text();
}

/** True where a tablet's share sheet is the way to keep a file: an installed page there has no downloads. */
function prefersSharing(file) {
  const isTouchApple = /iPad|iPhone/.test(navigator.userAgent) || (navigator.platform === "MacIntel" && navigator.maxTouchPoints > 1);
  return isTouchApple && navigator.canShare?.({ files: [file] });
}

/** Gives a file to the person. Call it in the click itself, with the content ready.
 *  Resolves to "saved", "downloaded" or "cancelled". */
export async function giveFile(name, type, content) {
  const file = new File([content], name, { type });
  try {
    if (prefersSharing(file)) {
      await navigator.share({ files: [file] });
      return "saved";
    }
    // An automated browser has nobody who answers the dialog.
    if (typeof showSaveFilePicker === "function" && isSecureContext && !navigator.webdriver) {
      const handle = await showSaveFilePicker({ suggestedName: name });
      const stream = await handle.createWritable();
      await stream.write(file);
      await stream.close();
      return "saved";
    }
  } catch (error) {
    if (error?.name === "AbortError") return "cancelled";
    // Not allowed here (an embedded page, an expired tap): the download below still works.
  }
  const address = URL.createObjectURL(file);
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
  return "downloaded";
}

/** A file name made of the case label: letters and digits of any script, the rest becomes a hyphen. */
export function fileName(label, date, ending) {
  const plain = label.normalize("NFC").replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-+|-+$/g, "").slice(0, 40);
  return `${[plain || "brow-plan", date].filter(Boolean).join("-")}${ending}`;
}
