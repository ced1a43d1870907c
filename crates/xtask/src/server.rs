//! A small server on the loopback address: `www/` at the top, `demo/` under `/demo/`, and what else is asked for.

use std::net::{Ipv4Addr, SocketAddr};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;
use std::thread::JoinHandle;

use axum::Router;
use axum::body::Body;
use axum::http::{Method, Response, StatusCode, Uri};
use tokio::net::TcpListener;
use tokio::runtime;

use crate::Problem;
use crate::command::root;

/// Where the page is served when no port is asked for.
const USUAL_PORT: u16 = 8740;
/// Nothing but our own files, no inline code, and no request to anywhere else: the photo cannot leave the device.
const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; \
     img-src 'self' blob: data:; connect-src 'self'; worker-src 'self' blob:; manifest-src 'self'; \
     base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'; trusted-types counterpoise";

/// The beginning of an address without its first slash, and the folder that lies there.
pub type Mount = (&'static str, PathBuf);

/// A running server; it ends with the process.
///
/// Connections are tasks, not threads: a browser keeps several open without asking for anything, and a pool of threads
/// would let the next request wait behind them.
pub struct Server {
    port: u16,
    thread: JoinHandle<()>,
}

impl Server {
    /// Starts serving the page; `more` are folders beside the two usual ones.
    ///
    /// # Errors
    /// Where the port is taken.
    pub fn of_page(port: Option<u16>, more: Vec<Mount>) -> Result<Server, Problem> {
        let mounts = [vec![("demo/", root().join("demo"))], more, vec![("", root().join("www"))]].concat();
        Server::start(port, mounts, Some(CONTENT_SECURITY_POLICY))
    }

    /// Starts serving folders, as another site's server would, without a policy.
    ///
    /// # Errors
    /// Where no port is free.
    pub fn of_another_site(mounts: Vec<Mount>) -> Result<Server, Problem> {
        Server::start(Some(0), mounts, None)
    }

    fn start(port: Option<u16>, mounts: Vec<Mount>, policy: Option<&'static str>) -> Result<Server, Problem> {
        let runtime = runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .enable_io()
            .build()
            .map_err(|error| format!("cannot serve: {error}"))?;
        let listen = |port: u16| runtime.block_on(TcpListener::bind((Ipv4Addr::LOCALHOST, port)));
        let listener = match port {
            Some(port) => listen(port).map_err(|error| format!("cannot serve on port {port}: {error}"))?,
            None => listen(USUAL_PORT)
                .or_else(|_| listen(0))
                .map_err(|error| format!("cannot serve on the loopback address: {error}"))?,
        };
        let port = listener.local_addr().map_or(0, |address: SocketAddr| address.port());
        let mounts = Arc::new(mounts);
        let files = Router::new().fallback(move |method: Method, uri: Uri| {
            let mounts = Arc::clone(&mounts);
            async move { answer(&method, uri.path(), &mounts, policy) }
        });
        let thread = std::thread::spawn(move || {
            // It ends with the process and reports nothing that anybody waits for.
            let _ = runtime.block_on(async { axum::serve(listener, files).await });
        });
        Ok(Server { port, thread })
    }

    /// The page's address, with a slash at its end.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Serves until the process is ended.
    pub fn wait(self) {
        let _ = self.thread.join();
    }
}

fn answer(method: &Method, path: &str, mounts: &[Mount], policy: Option<&str>) -> Response<Body> {
    if !matches!(*method, Method::GET | Method::HEAD) {
        return plain(StatusCode::METHOD_NOT_ALLOWED, "only GET");
    }
    let Some(path) = file_of(path, mounts) else { return plain(StatusCode::NOT_FOUND, "not found") };
    let Ok(bytes) = std::fs::read(&path) else { return plain(StatusCode::NOT_FOUND, "not found") };
    let mut response = Response::builder();
    for (name, value) in headers(&path) {
        response = response.header(name, value);
    }
    if let Some(policy) = policy {
        response = response.header("Content-Security-Policy", policy);
    }
    response
        .body(Body::from(bytes))
        .unwrap_or_else(|_| plain(StatusCode::INTERNAL_SERVER_ERROR, "no such header"))
}

fn plain(status: StatusCode, text: &'static str) -> Response<Body> {
    let mut response = Response::new(Body::from(text));
    *response.status_mut() = status;
    response
}

fn headers(path: &Path) -> [(&'static str, &'static str); 4] {
    [
        ("Content-Type", media_type(path)),
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

    /// Hosts that send no policy of their own serve a page that has it.
    #[test]
    fn page_carries_the_policy_that_is_served() {
        let page = std::fs::read_to_string(root().join("www/index.html")).unwrap();
        let meta =
            format!("<meta http-equiv=\"Content-Security-Policy\" content=\"{CONTENT_SECURITY_POLICY}\">");
        assert!(page.contains(&meta), "{meta}");
    }

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
