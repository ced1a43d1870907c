//! axe-core in the page.

use serde_json::Value;

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
                "const done = arguments[0]; axe.run(document).then(r => done(r.violations), e => done([{id: String(e)}]))",
                Vec::new(),
            )
            .await?;
        let findings: Vec<String> = found.as_array().into_iter().flatten().map(described).collect();
        if findings.is_empty() {
            return Ok(());
        }
        Err(format!("axe-core on {screen}: {findings:#?}").into())
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
