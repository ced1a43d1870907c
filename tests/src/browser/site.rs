//! A static host that a test can hand another release, let tell wrong types, lose files, and take away.

use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::Duration;

use super::Failure;

#[derive(Clone, Default)]
struct Wishes {
    root: PathBuf,
    /// What is told of WebAssembly; `application/wasm` where this is empty.
    wasm_type: &'static str,
    /// Paths that are not there.
    lost: Vec<String>,
    /// Every path that was asked for.
    asked: Arc<Mutex<Vec<String>>>,
}

/// A running host.
pub struct Site {
    port: u16,
    wishes: Arc<Mutex<Wishes>>,
    is_over: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Site {
    /// Serves a folder on a free port.
    ///
    /// # Errors
    /// Where there is none.
    pub fn start(root: PathBuf) -> Result<Site, Failure> {
        Site::listen(0, Wishes { root, ..Wishes::default() })
    }

    fn listen(port: u16, wishes: Wishes) -> Result<Site, Failure> {
        let listener = TcpListener::bind(("127.0.0.1", port))?;
        let port = listener.local_addr()?.port();
        listener.set_nonblocking(true)?;
        let wishes = Arc::new(Mutex::new(wishes));
        let is_over = Arc::new(AtomicBool::new(false));
        let (known, over) = (Arc::clone(&wishes), Arc::clone(&is_over));
        let thread = std::thread::spawn(move || {
            while !over.load(Ordering::Relaxed) {
                match listener.accept() {
                    Ok((stream, _)) => {
                        let Ok(wishes) = known.lock().map(|wishes| wishes.clone()) else { return };
                        std::thread::spawn(move || answer(stream, &wishes));
                    }
                    Err(_) => std::thread::sleep(Duration::from_millis(5)),
                }
            }
        });
        Ok(Site { port, wishes, is_over, thread: Some(thread) })
    }

    /// Its address, with a slash at its end.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    fn wish(&self, change: impl FnOnce(&mut Wishes)) {
        if let Ok(mut wishes) = self.wishes.lock() {
            change(&mut wishes);
        }
    }

    /// Serves another folder from now on.
    pub fn hand(&self, root: PathBuf) {
        self.wish(|wishes| wishes.root = root);
    }

    /// Tells this type of WebAssembly from now on.
    pub fn tell_of_wasm(&self, kind: &'static str) {
        self.wish(|wishes| wishes.wasm_type = kind);
    }

    /// Does not find this path from now on.
    pub fn lose(&self, path: &str) {
        self.wish(|wishes| wishes.lost.push(path.to_owned()));
    }

    /// Every path that was asked for.
    #[must_use]
    pub fn asked(&self) -> Vec<String> {
        let asked = self.wishes.lock().ok().map(|wishes| Arc::clone(&wishes.asked));
        asked.and_then(|asked| asked.lock().ok().map(|asked| asked.clone())).unwrap_or_default()
    }

    /// Takes it away: connections are refused.
    pub fn end(&mut self) {
        self.is_over.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }

    /// Brings it back where it was.
    ///
    /// # Errors
    /// Where its port was taken meanwhile.
    pub fn again(&mut self) -> Result<(), Failure> {
        self.end();
        let wishes = self.wishes.lock().map(|wishes| wishes.clone()).unwrap_or_default();
        *self = Site::listen(self.port, wishes)?;
        Ok(())
    }
}

impl Drop for Site {
    fn drop(&mut self) {
        self.end();
    }
}

fn answer(mut stream: TcpStream, wishes: &Wishes) {
    // A browser that asks for nothing is not waited for.
    let _ = stream.set_nonblocking(false);
    let _ = stream.set_read_timeout(Some(Duration::from_secs(5)));
    let mut lines = BufReader::new(&stream).lines();
    let Some(Ok(first)) = lines.next() else { return };
    // The rest of the head is read, so that closing is no reset.
    for line in lines {
        if line.is_ok_and(|line| line.is_empty()) {
            break;
        }
    }
    let path = first.split(' ').nth(1).unwrap_or_default();
    let path = path.split('?').next().unwrap_or_default().trim_start_matches('/');
    let path = if path.is_empty() { "index.html" } else { path };
    if let Ok(mut asked) = wishes.asked.lock() {
        asked.push(path.to_owned());
    }
    let is_plain = Path::new(path).components().all(|part| matches!(part, Component::Normal(_)));
    let found = (is_plain && !wishes.lost.iter().any(|lost| lost == path))
        .then(|| std::fs::read(wishes.root.join(path)).ok())
        .flatten();
    let kind = match path.rsplit('.').next().unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" => "text/javascript",
        "css" => "text/css",
        "json" => "application/json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "webmanifest" => "application/manifest+json",
        "wasm" if !wishes.wasm_type.is_empty() => wishes.wasm_type,
        "wasm" => "application/wasm",
        _ => "application/octet-stream",
    };
    let (status, body) = found.map_or(("404 Not Found", Vec::new()), |body| ("200 OK", body));
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    let _ = stream.write_all(head.as_bytes()).and_then(|()| stream.write_all(&body));
}
