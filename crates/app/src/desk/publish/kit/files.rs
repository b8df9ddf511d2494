//! The files of a film: each by itself, stills among them, and all in one zip.

use std::io::Write;
use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{self, HeaderValue};
use axum::response::Response;
use cabinet::{FilmId, Reader};
use zip::write::SimpleFileOptions;

use super::known::{Known, Made};
use super::show;
use crate::desk::Desk;
use crate::desk::home::download;
use crate::desk::keep::{self, answer};
use crate::desk::page::{Here, whole};
use crate::filming::stills::{self, Light, Size};

type Shared = State<Arc<Desk>>;

/// The files of a kit with what each is for.
pub const FILES: [(&str, &str); 9] = [
    ("script.md", "film.file_script"),
    ("shots.csv", "film.file_shots_table"),
    ("shots.txt", "film.file_shots"),
    ("captions.vtt", "film.file_captions"),
    ("captions.srt", "film.file_srt"),
    ("chapters.txt", "film.file_chapters"),
    (DESCRIPTION, "film.file_description"),
    ("cues.wav", "film.file_cues"),
    ("times.csv", "film.file_times"),
];

/// The one that begins with the title, which may be the practitioner's own.
const DESCRIPTION: &str = "description.txt";

fn media(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("vtt") => "text/vtt; charset=utf-8",
        Some("csv") => "text/csv; charset=utf-8",
        Some("md") => "text/markdown; charset=utf-8",
        Some("srt") => "application/x-subrip; charset=utf-8",
        Some("wav") => "audio/wav",
        Some("png") => "image/png",
        Some("svg") => "image/svg+xml",
        Some("zip") => "application/zip",
        _ => "text/plain; charset=utf-8",
    }
}

/// Reads a film and makes an answer of its kit; where there is none today, the page that says why.
async fn of(
    desk: Arc<Desk>,
    id: i64,
    work: impl FnOnce(&Desk, &Known, &Made) -> Option<Response> + Send + 'static,
) -> Response {
    answer(desk, move |desk, cabinet| {
        let known = cabinet.read(|r: &Reader<'_>| Known::read(r, FilmId::from_number(id)))?;
        match known.made(&desk.atlas()) {
            Ok(made) => work(desk, &known, &made).map_or_else(keep::lost, Ok),
            Err(why) => Ok(keep::again(whole(Here::Kit, &known.film.name, show::refused(&known, &why)))),
        }
    })
    .await
}

/// One of the files.
pub async fn file(State(desk): Shared, Path((id, name)): Path<(i64, String)>) -> Response {
    of(desk, id, move |_, known, made| {
        let (name, bytes) = match name.as_str() {
            DESCRIPTION => (DESCRIPTION, known.description(&made.kit).into_bytes()),
            name => made.kit.file(name)?,
        };
        Some(download(name, media(name), bytes))
    })
    .await
}

/// One still: `stills/wide-day/3.png`, or `.svg`.
pub async fn still(State(desk): Shared, Path((id, kind, name)): Path<(i64, String, String)>) -> Response {
    of(desk, id, move |desk, known, made| {
        let (size, light) = kind.split_once('-')?;
        let (size, light) = (Size::from_word(size)?, Light::from_word(light)?);
        let (number, ending) = name.split_once('.')?;
        let step = number.parse::<usize>().ok()?.checked_sub(1)?;
        known.drawn(&desk.atlas(), made.runnable.steps(), |given| {
            let svg = stills::svg(given, step, size, light).ok()??;
            let bytes = match ending {
                "svg" => svg.into_bytes(),
                "png" => stills::png(&svg).ok()?,
                _ => return None,
            };
            let name = format!("{}.{ending}", stills::name(given, step, size, light));
            let mut response = download(&name, media(&name), bytes);
            // Shown in the page as well as saved from it.
            if let Ok(value) = HeaderValue::from_str(&format!("inline; filename=\"{name}\"")) {
                response.headers_mut().insert(header::CONTENT_DISPOSITION, value);
            }
            Some(response)
        })
    })
    .await
}

/// Everything in one file.
pub async fn all(State(desk): Shared, Path(id): Path<i64>) -> Response {
    of(desk, id, |desk, known, made| {
        let mut files: Vec<(String, Vec<u8>)> =
            made.kit.files().into_iter().map(|(name, bytes)| (name.to_owned(), bytes)).collect();
        for (_, bytes) in files.iter_mut().filter(|(name, _)| name == DESCRIPTION) {
            *bytes = known.description(&made.kit).into_bytes();
        }
        if !known.body.words.is_empty() {
            files.push(("own-words.txt".to_owned(), format!("{}\n", known.body.words).into_bytes()));
        }
        files.push(("title.txt".to_owned(), format!("{}\n", known.title(&made.kit)).into_bytes()));
        known.drawn(&desk.atlas(), made.runnable.steps(), |given| {
            for (size, size_word) in Size::ALL {
                for (light, light_word) in Light::ALL {
                    let folder = format!("stills/{size_word}-{light_word}");
                    let made = stills::stills(given, size, light).ok()?;
                    files.extend(made.into_iter().map(|(name, bytes)| (format!("{folder}/{name}"), bytes)));
                }
            }
            Some(())
        })?;
        let name = format!("{}.zip", plain(&known.film.name, known.film.id.number()));
        Some(download(&name, media(&name), packed(&files)?))
    })
    .await
}

/// A name for a file: letters and digits of the film's name; its number where it has none.
fn plain(name: &str, number: i64) -> String {
    let letter = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let words: String = name.chars().map(letter).collect();
    let words: Vec<&str> = words.split('-').filter(|w| !w.is_empty()).take(8).collect();
    if words.is_empty() { format!("film-{number}") } else { format!("film-{}", words.join("-")) }
}

/// A zip without dates: the same files give the same bytes.
fn packed(files: &[(String, Vec<u8>)]) -> Option<Vec<u8>> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        // Pictures and sound are as small as they get.
        let method =
            if name.ends_with(".png") { zip::CompressionMethod::Stored } else { zip::CompressionMethod::Deflated };
        zip.start_file(name.as_str(), SimpleFileOptions::default().compression_method(method)).ok()?;
        zip.write_all(bytes).ok()?;
    }
    zip.finish().ok().map(std::io::Cursor::into_inner)
}
