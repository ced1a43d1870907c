// Step 8: what is asked of the client, what she is shown, and what she agrees to.

import { createAgreementSection } from "./agreement_section.js";
import { createAskedSection } from "./asked_section.js";
import { createClientSection } from "./client_section.js";
import { createVariantsSection } from "./variants_section.js";

export function createClientPanel(root, app) {
  const asked = createAskedSection(app);
  const client = createClientSection(app);
  const variants = createVariantsSection(app);
  const agreement = createAgreementSection(app);
  root.append(client.node, variants.node, asked.node, agreement.node);

  const render = () => {
    client.show();
    variants.render();
    asked.render();
    // It reads the whole report, which no frame of her drag should wait for.
    if (!app.store.isPreview) agreement.render();
  };

  return {
    render,
    enter() {
      app.setStageMode("look");
      render();
    },
    leave: () => variants.stop(),
  };
}
