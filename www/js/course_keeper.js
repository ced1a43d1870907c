// Where a learner's work is kept: on this device, or in the course's own server (`course_server.js`), which has the same acts.

import { rememberSetting, setting } from "./settings.js";

/** What this device keeps of exercises; in a page without storage as long as the page is open. */
export function deviceKeeper() {
  return {
    work: (id) => setting(`exercise.${id}.work`, null),
    keepWork: (id, work) => rememberSetting(`exercise.${id}.work`, work),
    score: (id) => setting(`exercise.${id}.score`, null),
    keepScore: (id, score) => rememberSetting(`exercise.${id}.score`, score),
    place: () => null,
    keepPlace() {},
  };
}
