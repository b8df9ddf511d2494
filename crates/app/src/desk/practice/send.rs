//! Answers that are made while they are sent: a file from the disk, or an export packed as a zip. At most half a megabyte waits.

use std::io::{self, Read, Write};
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::{Duration, Instant};

use axum::body::{Body, Bytes, HttpBody};
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use cabinet::{Cabinet, ClientId, Error};
use tokio::sync::mpsc::{Receiver, Sender, channel, error::TrySendError};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// Bytes of one piece.
const PIECE: usize = 64 * 1024;
/// Pieces that wait to be sent.
const WAITING: usize = 8;
/// Whoever takes nothing for so long has gone away: an export holds its moment, and a lock would wait for it.
const PATIENCE: Duration = Duration::from_secs(20);

type Piece = Result<Bytes, io::Error>;

/// A body whose pieces come from another thread; it ends with them, and with an error where they do.
struct Coming(Receiver<Piece>);

impl HttpBody for Coming {
    type Data = Bytes;
    type Error = io::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
    ) -> Poll<Option<Result<http_body::Frame<Bytes>, io::Error>>> {
        self.0.poll_recv(cx).map(|piece| piece.map(|piece| piece.map(http_body::Frame::data)))
    }
}

/// Writes into a body, and ends when nobody takes it, or it is not to go on.
struct Sending<'s> {
    to: Sender<Piece>,
    buffer: Vec<u8>,
    goes_on: &'s dyn Fn() -> bool,
}

impl Sending<'_> {
    fn give(&self, mut piece: Piece) -> io::Result<()> {
        let since = Instant::now();
        loop {
            piece = match self.to.try_send(piece) {
                Ok(()) => return Ok(()),
                Err(TrySendError::Full(piece)) if since.elapsed() < PATIENCE && (self.goes_on)() => piece,
                Err(_) => return Err(io::ErrorKind::BrokenPipe.into()),
            };
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

impl Write for Sending<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.buffer.extend_from_slice(bytes);
        if self.buffer.len() >= PIECE {
            self.flush()?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        let piece = std::mem::take(&mut self.buffer);
        if piece.is_empty() { Ok(()) } else { self.give(Ok(piece.into())) }
    }
}

/// An answer under a file's name, written by `work` beside the server.
fn attachment(
    name: &str,
    media: &'static str,
    goes_on: impl Fn() -> bool + Send + 'static,
    work: impl FnOnce(&mut dyn Write) -> io::Result<()> + Send + 'static,
) -> Response {
    let (to, from) = channel(WAITING);
    tokio::task::spawn_blocking(move || {
        let mut sending = Sending { to, buffer: Vec::new(), goes_on: &goes_on };
        if let Err(error) = work(&mut sending).and_then(|()| sending.flush()) {
            // The connection breaks off, so that half a file is not taken for a whole one.
            let _ = sending.give(Err(error));
        }
    });
    let mut response = Response::new(Body::new(Coming(from)));
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(media));
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        headers.insert(header::CONTENT_DISPOSITION, value);
    }
    response
}

/// A file of ciphertext, as it lies on the disk; `file` is open already, so that a page can say why it is not.
pub fn file(name: &str, mut file: std::fs::File) -> Response {
    attachment(
        name,
        "application/octet-stream",
        || true,
        move |out| {
            let mut buffer = vec![0; PIECE];
            loop {
                match file.read(&mut buffer)? {
                    0 => return Ok(()),
                    n => out.write_all(&buffer[..n])?,
                }
            }
        },
    )
}

/// An export as a zip: nothing of it touches the disk, and it breaks off when `goes_on` says so.
pub fn export(
    name: &str,
    cabinet: std::sync::Arc<Cabinet>,
    only: Option<ClientId>,
    goes_on: impl Fn() -> bool + Send + Sync + Clone + 'static,
) -> Response {
    let still = goes_on.clone();
    attachment(name, "application/zip", still, move |out| {
        let mut zip = ZipWriter::new_stream(out);
        let gone = |path: &str, error: &io::Error| Error::io(std::path::Path::new(path), error);
        let written = cabinet.export_to(only, &mut |path, bytes| {
            if !goes_on() {
                return Err(gone(path, &io::ErrorKind::BrokenPipe.into()));
            }
            // Photographs are packed already.
            let packed = path.starts_with("photographs/");
            let method = if packed { CompressionMethod::Stored } else { CompressionMethod::Deflated };
            let options = SimpleFileOptions::default().compression_method(method).large_file(bytes.len() > 1 << 31);
            let put = zip.start_file(path, options);
            put.map_err(io::Error::other).and_then(|()| zip.write_all(bytes)).map_err(|e| gone(path, &e))
        });
        written.map_err(io::Error::other)?;
        zip.finish().map(drop).map_err(io::Error::other)
    })
}
