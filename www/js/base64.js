// Bytes as letters (RFC 4648, section 4) and back.

/** The letters of these bytes. */
export const toBase64 = (bytes) => btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));

/** The bytes of these letters; throws where they are none. */
export const fromBase64 = (letters) => Uint8Array.from(atob(letters), (letter) => letter.charCodeAt(0));
