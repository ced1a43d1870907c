// What the fragment of the page's address may say. It is never sent anywhere.

/** Begins a plan that was passed on as a link (`share_link.js`). */
export const PLAN = "#plan=";
