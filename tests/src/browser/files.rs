//! Files that the page gives away.

use super::{Browser, Failure, Outcome, from_base64};

impl Browser {
    /// Notes every file that the page gives away from now on; pictures for its own use are none.
    ///
    /// # Errors
    /// The driver's.
    pub async fn watch_files(&self) -> Outcome {
        self.value(
            "const make = URL.createObjectURL.bind(URL); window.given = null; \
             URL.createObjectURL = (file) => { if (file instanceof File) window.given = file; return make(file); }",
        )
        .await?;
        Ok(())
    }

    /// The bytes of the file that a button gives; [`Browser::watch_files`] first.
    ///
    /// # Errors
    /// Where it gives none.
    pub async fn file_of(&self, button: &str) -> Result<Vec<u8>, Failure> {
        self.value("window.given = null").await?;
        self.click(button).await?;
        self.until("return window.given !== null").await?;
        let text = self
            .value_later(
                "const done = arguments[arguments.length - 1]; const reader = new FileReader(); \
                 reader.onload = () => done(reader.result.slice(reader.result.indexOf(',') + 1)); \
                 reader.readAsDataURL(window.given)",
                Vec::new(),
            )
            .await?;
        from_base64(text.as_str().unwrap_or_default())
    }
}
