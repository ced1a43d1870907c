//! axe-core in the page.

use serde_json::{Value, json};

use super::surroundings::axe_script;
use super::{Browser, Outcome};

impl Browser {
    /// Fails where axe-core finds anything (WCAG 2.0 to 2.2, A and AA, and its own best practices), or where a part of the page is
    /// wider than its place.
    ///
    /// # Errors
    /// Lists each finding with the elements it concerns.
    pub async fn accessible(&self, screen: &str) -> Outcome {
        let wide = "return ['.bar', '.tools', '.steps', '.live', '.panel', '.client', '.panel-body:not([hidden])'].filter((css) => { const part = document.querySelector(css); \
                    return part.getBoundingClientRect().right > innerWidth + 1 || part.scrollWidth > part.clientWidth + 1; }).join(' ')";
        let wide = self.value(wide).await?;
        if wide != "" {
            return Err(format!("wider than their place on {screen}: {wide}").into());
        }
        if self.value("return typeof window.axe").await? != "object" {
            self.value(&axe_script()?).await?;
        }
        let found = self
            .value_later(
                // Colours on their way from one theme to the other have the contrast of neither; what is hidden on its way never arrives in WebKit.
                "const done = arguments[0]; const late = new Promise((go) => setTimeout(go, 1000)); \
                 const arrived = Promise.allSettled(document.getAnimations().map((each) => each.finished)); \
                 Promise.race([arrived, late]).then(() => axe.run(document)).then((found) => done(found.violations), (error) => done([{ id: String(error) }]))",
                Vec::new(),
            )
            .await?;
        let findings: Vec<String> = found.as_array().into_iter().flatten().map(described).collect();
        if findings.is_empty() {
            return Ok(());
        }
        Err(format!("axe-core on {screen}: {findings:#?}").into())
    }

    /// Fails where a word of a button, a tab or the name of a control is cut off.
    ///
    /// # Errors
    /// Lists them with their widths.
    pub async fn words_fit(&self, screen: &str) -> Outcome {
        let cut = "return [...document.querySelectorAll('button, [role=tab], label, .slider-name, th, dt, h2')] \
            .filter((node) => node.checkVisibility() && node.scrollWidth > node.clientWidth + 1 && node.clientWidth > 1) \
            .map((node) => `${node.id} ${node.textContent} ${node.scrollWidth} > ${node.clientWidth}`)";
        let cut = self.value(cut).await?;
        if cut == json!([]) {
            return Ok(());
        }
        Err(format!("words that do not fit on {screen}: {cut}").into())
    }

    /// Fails where something below `css` that can be used cannot be brought into sight and touched: beside the window, or below something else.
    ///
    /// # Errors
    /// Lists what cannot be reached, and what lies over it.
    pub async fn reachable(&self, css: &str, screen: &str) -> Outcome {
        let lost = "const lost = []; let looked = 0; \
            for (const node of document.querySelector(arguments[0]).querySelectorAll('button, input, select, textarea, summary, a')) { \
              if (!node.checkVisibility({ visibilityProperty: true }) || node.matches(':disabled, .twin, .skip')) continue; \
              looked += 1; \
              const seen = node.matches('.file-input') ? node.labels[0] : node; \
              seen.scrollIntoView({ block: 'center', behavior: 'instant' }); \
              const { left, right, top, bottom } = seen.getBoundingClientRect(); \
              const hit = document.elementFromPoint((left + right) / 2, (top + bottom) / 2); \
              const isHit = hit && (seen.contains(hit) || hit.contains(seen) && hit.matches('label') || hit.closest('label')?.control === node); \
              if (left < -1 || right > innerWidth + 1 || !isHit) lost.push(`${node.id || node.outerHTML.slice(0, 90)} at ${left} ${top} ${right} ${bottom}, over it ${hit?.outerHTML.slice(0, 90)}`); } \
            return looked ? lost : ['nothing to use']";
        let lost = self.value_with(lost, vec![json!(css)]).await?;
        if lost == json!([]) {
            return Ok(());
        }
        Err(format!("out of reach on {screen}: {lost:#}").into())
    }
}

fn described(finding: &Value) -> String {
    let nodes: Vec<&str> = finding["nodes"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|node| node["html"].as_str())
        .take(5)
        .collect();
    let text = |key: &str| finding[key].as_str().unwrap_or_default();
    format!("{} ({}): {} at {nodes:?}", text("id"), text("impact"), text("help"))
}
