//! A small server on the loopback address: `www/` at the top, `demo/` under `/demo/`, and what else is asked for.

use std::fs::File;
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::thread::JoinHandle;

use tiny_http::{Header, Method, Request, Response, StatusCode};

use crate::Problem;
use crate::command::root;

/// Where the page is served when no port is asked for.
const USUAL_PORT: u16 = 8740;
/// A page and its modules come over a few connections at once; more threads would only wait.
const THREADS: usize = 4;
/// Nothing but our own files, no inline code, and no request to anywhere else: the photo cannot leave the device.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; \
     img-src 'self' blob: data:; connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; \
     base-uri 'none'; form-action 'none'";

/// The beginning of an address without its first slash, and the folder that lies there.
pub type Mount = (&'static str, PathBuf);

/// A running server; it ends with the process.
pub struct Server {
    port: u16,
    threads: Vec<JoinHandle<()>>,
}

impl Server {
    /// Starts serving; `more` are folders beside the two usual ones.
    ///
    /// # Errors
    /// Where the port is taken.
    pub fn start(port: Option<u16>, more: Vec<Mount>) -> Result<Server, Problem> {
        let listen = |port: u16| tiny_http::Server::http(("127.0.0.1", port));
        let http = match port {
            Some(port) => listen(port).map_err(|error| format!("cannot serve on port {port}: {error}"))?,
            None => listen(USUAL_PORT)
                .or_else(|_| listen(0))
                .map_err(|error| format!("cannot serve on the loopback address: {error}"))?,
        };
        let port = http.server_addr().to_ip().map_or(0, |address| address.port());
        let http = Arc::new(http);
        let mounts = [vec![("demo/", root().join("demo"))], more, vec![("", root().join("www"))]].concat();
        let mounts = Arc::new(mounts);
        let threads = (0..THREADS)
            .map(|_| {
                let (http, mounts) = (Arc::clone(&http), Arc::clone(&mounts));
                std::thread::spawn(move || {
                    while let Ok(request) = http.recv() {
                        // A browser that hangs up early is no error of ours.
                        let _ = answer(request, &mounts);
                    }
                })
            })
            .collect();
        Ok(Server { port, threads })
    }

    /// The page's address, with a slash at its end.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Serves until the process is ended.
    pub fn wait(self) {
        for thread in self.threads {
            let _ = thread.join();
        }
    }
}

fn answer(request: Request, mounts: &[Mount]) -> std::io::Result<()> {
    if !matches!(request.method(), Method::Get | Method::Head) {
        return request.respond(plain(405, "only GET"));
    }
    let Some(path) = file_of(request.url(), mounts) else {
        return request.respond(plain(404, "not found"));
    };
    match File::open(&path) {
        Ok(file) => {
            let mut response = Response::from_file(file);
            for (name, value) in headers(&path) {
                if let Ok(header) = Header::from_bytes(name, value) {
                    response.add_header(header);
                }
            }
            request.respond(response)
        }
        Err(_) => request.respond(plain(404, "not found")),
    }
}

fn plain(status: u16, text: &str) -> Response<std::io::Cursor<Vec<u8>>> {
    Response::from_string(text).with_status_code(StatusCode(status))
}

fn headers(path: &Path) -> [(&'static str, &'static str); 5] {
    [
        ("Content-Type", media_type(path)),
        ("Content-Security-Policy", CONTENT_SECURITY_POLICY),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        // While one works on the page, what is on the disk is what must be seen.
        ("Cache-Control", "no-store"),
    ]
}

/// The file that an address names; `None` for addresses that leave the folders.
fn file_of(url: &str, mounts: &[Mount]) -> Option<PathBuf> {
    let path = url.split(['?', '#']).next()?;
    let path = percent_decoded(path.strip_prefix('/')?)?;
    let (folder, rest) =
        mounts.iter().find_map(|(start, folder)| path.strip_prefix(start).map(|rest| (folder, rest)))?;
    let rest =
        if rest.is_empty() || rest.ends_with('/') { format!("{rest}index.html") } else { rest.to_owned() };
    let rest = Path::new(&rest);
    let plain = rest.components().all(|part| matches!(part, Component::Normal(_)));
    let file = folder.join(rest);
    (plain && file.is_file()).then_some(file)
}

fn percent_decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let digit = |byte: Option<u8>| char::from(byte?).to_digit(16).and_then(|d| u8::try_from(d).ok());
            let high = digit(rest.next())?;
            let low = digit(rest.next())?;
            bytes.push(high * 16 + low);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}

/// The media type by the file's ending. Wasm needs its own to be compiled while it arrives.
fn media_type(path: &Path) -> &'static str {
    match path.extension().and_then(|ending| ending.to_str()).unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" => "application/json",
        "webmanifest" => "application/manifest+json",
        "wasm" => "application/wasm",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "webp" => "image/webp",
        "txt" | "md" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_that_climb_out_are_refused() {
        let mounts = [("demo/", root().join("demo")), ("", root().join("www"))];
        for url in [
            "/../Cargo.toml",
            "/%2e%2e/Cargo.toml",
            "/demo/../Cargo.toml",
            "/demo//etc/passwd",
            "//etc/passwd",
            "/a%zz",
        ] {
            assert_eq!(file_of(url, &mounts), None, "{url}");
        }
    }

    #[test]
    fn wasm_and_modules_carry_the_types_browsers_insist_on() {
        assert_eq!(media_type(Path::new("a_bg.wasm")), "application/wasm");
        assert_eq!(media_type(Path::new("js/main.js")), "text/javascript; charset=utf-8");
    }

    #[test]
    fn percent_signs_are_decoded_once() {
        assert_eq!(percent_decoded("a%20b%2525").as_deref(), Some("a b%25"));
        assert_eq!(percent_decoded("%c3%28"), None);
    }
}
