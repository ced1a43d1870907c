// Lessons and exercises with where a learner's work is kept: on this device, or in the server of a course that brought the page.

import { needStyle, readText } from "./assets.js";
import { createCourse } from "./course.js";
import { deviceKeeper } from "./course_keeper.js";
import { text } from "./messages.js";
import { loadTeaching } from "./teaching.js";

async function keeperOf(teaching, setId, messages) {
  if (setId === null) return deviceKeeper();
  const { findServer, serverKeeper } = await import("./course_server.js");
  const server = findServer();
  try {
    const { pass, items } = teaching.set(await readText(`demo/${setId}.set.json`));
    const keeper = server && serverKeeper(server, { pass: pass ?? null, items, refused: messages.problem });
    if (keeper) return keeper;
  } catch (error) {
    console.error(error);
  }
  messages.problem(text("course.no_server"));
  return deviceKeeper();
}

/** Loads what teaching needs; `setId` is the set that a course's server handed the page out with, or `null`. `told(result)` hears of every marking. */
export async function openCourse(app, { root, setId, told }) {
  const [teaching] = await Promise.all([loadTeaching(), needStyle("css/course.css")]);
  const keeper = await keeperOf(teaching, setId, app.messages);
  const course = createCourse(app, { root, keeper, teaching, told });
  // After the course's own: what is handed over last is what was kept last.
  keeper.listen?.();
  return course;
}
