// The planner as an element for pages of other sites: load this as a module, then write
//
//   <counterpoise-planner case="low-brow" mode="exercise"></counterpoise-planner>
//
// Attributes: `case`, `mode`, `controls`, `language` (as in `js/fragment.js`), `page` (where the planner lies; beside this file without it), `label`.
// It shows the planner in a frame, gives the frame its height, and talks to it for you:
//
//   await planner.load({ plan })          a plan's text, or { case, mode }; gives { plan, step }
//   await planner.state()                 { plan, step }
//   await planner.report()                the numbers
//   planner.addEventListener("report", ({ detail }) => …)    after every change
//   planner.addEventListener("result", ({ detail }) => …)    after every marking: { result: { exercise, score, items } }
//   planner.addEventListener("ready", ({ detail }) => …)
//
// Questions are refused with an Error, whose message is for people.

const PROTOCOL = 1;
const PARAMETERS = ["case", "mode", "controls", "language"];
/** How long an answer may take, ms. */
const WAIT_MS = 30_000;
/** Before the page has told its height, px. */
const FIRST_HEIGHT = 640;

class CounterpoisePlanner extends HTMLElement {
  #frame = null;
  #origin = "";
  #waiting = new Map();
  #count = 0;
  #isReady = null;
  #told = (event) => this.#hear(event);

  static get observedAttributes() {
    return [...PARAMETERS, "page"];
  }

  connectedCallback() {
    if (!this.shadowRoot) {
      this.attachShadow({ mode: "open" });
      const sheet = new CSSStyleSheet();
      sheet.replaceSync(":host { display: block } iframe { display: block; width: 100%; border: 0 }");
      this.shadowRoot.adoptedStyleSheets = [sheet];
    }
    addEventListener("message", this.#told);
    this.#show();
  }

  disconnectedCallback() {
    removeEventListener("message", this.#told);
    this.#frame?.remove();
    this.#frame = null;
  }

  attributeChangedCallback() {
    if (this.#frame) this.#show();
  }

  #show() {
    const page = new URL(this.getAttribute("page") ?? ".", this.hasAttribute("page") ? document.baseURI : import.meta.url);
    const given = new URLSearchParams(PARAMETERS.map((name) => [name, this.getAttribute(name)]).filter(([, value]) => value));
    given.set("host", location.origin);
    page.hash = given.toString();
    this.#origin = page.origin;
    let ready;
    this.#isReady = new Promise((resolve) => { ready = resolve; });
    this.#isReady.done = ready;
    const frame = document.createElement("iframe");
    frame.title = this.getAttribute("label") ?? "Counterpoise";
    frame.style.height = `${FIRST_HEIGHT}px`;
    frame.src = page.href;
    this.#frame?.remove();
    this.#frame = frame;
    this.shadowRoot.append(frame);
  }

  #hear({ source, origin, data }) {
    if (!this.#frame || source !== this.#frame.contentWindow || origin !== this.#origin || data?.counterpoise !== PROTOCOL) return;
    const { type, id, payload } = data;
    if (type === "ready") {
      this.#isReady.done();
      for (const followed of ["report", "result", "height"]) this.#post(followed, `follow-${followed}`, { follow: true });
    }
    if (type === "height" && Number.isFinite(payload?.px)) this.#frame.style.height = `${payload.px}px`;
    const asked = this.#waiting.get(id);
    if (asked) {
      this.#waiting.delete(id);
      if (type === "refused") asked.refuse(new Error(payload.why));
      else asked.give(payload);
      return;
    }
    if (["ready", "report", "result", "height"].includes(type)) this.dispatchEvent(new CustomEvent(type, { detail: payload }));
  }

  #post(type, id, payload) {
    this.#frame.contentWindow.postMessage({ counterpoise: PROTOCOL, type, id, payload }, this.#origin);
  }

  async #ask(type, payload = {}) {
    if (!this.#frame) throw new Error("not in a page");
    await this.#isReady;
    this.#count += 1;
    const id = `${type}-${this.#count}`;
    return new Promise((give, refuse) => {
      const timer = setTimeout(() => this.#waiting.delete(id) && refuse(new Error("no answer")), WAIT_MS);
      const end = (act) => (value) => { clearTimeout(timer); act(value); };
      this.#waiting.set(id, { give: end(give), refuse: end(refuse) });
      this.#post(type, id, payload);
    });
  }

  /** Opens a plan, `{plan: TEXT}`, or a case that comes with the page, `{case: ID, mode}`. */
  load(what) {
    return this.#ask("load", what);
  }

  /** The plan that is open, without name and photo, and the step. */
  state() {
    return this.#ask("state");
  }

  /** The numbers of the plan. */
  report() {
    return this.#ask("report");
  }
}

customElements.define("counterpoise-planner", CounterpoisePlanner);
