//! Many photographs: a worker for each core, all with the same networks, none with more than one decoded photograph; answers come in
//! the order in which the photographs were named.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

use vision::Finder;
use vocab::Finding;

use super::{Taken, Told, measure_file};
use crate::catalogue::{fill, text};
use crate::files;
use crate::own::Refused;

/// The endings of files that are opened from a folder.
const ENDINGS: [&str; 8] = ["jpg", "jpeg", "jpe", "png", "webp", "heic", "heif", "hif"];

/// The photographs that a command names: files as they are, of a folder all photographs in it by name.
pub struct Named {
    /// The photographs, in order.
    pub photos: Vec<PathBuf>,
    /// What lies in a folder and is no photograph.
    pub skipped: Vec<PathBuf>,
}

/// Reads the names.
pub fn named<'p>(given: impl IntoIterator<Item = &'p PathBuf>) -> Result<Named, Vec<Finding>> {
    let mut named = Named { photos: Vec::new(), skipped: Vec::new() };
    for path in given {
        if !path.is_dir() {
            named.photos.push(path.clone());
            continue;
        }
        let refuse = |message: String| vec![Finding::new(path.display().to_string(), 0, message)];
        let entries = std::fs::read_dir(path).and_then(|all| all.map(|e| Ok(e?.path())).collect::<Result<Vec<_>, _>>());
        let mut entries = entries.map_err(|error| refuse(fill("files.unreadable", &[("error", &error)])))?;
        entries.sort();
        let (photos, skipped): (Vec<_>, Vec<_>) = entries.into_iter().partition(|p| is_photo(p));
        if photos.is_empty() {
            return Err(refuse(text("measure.empty_folder").to_owned()));
        }
        named.photos.extend(photos);
        named.skipped.extend(skipped);
    }
    Ok(named)
}

fn is_photo(path: &Path) -> bool {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("").to_ascii_lowercase();
    ENDINGS.contains(&ending.as_str()) && path.is_file()
}

/// The answer for one photograph.
pub type Answer = Result<Taken, Refused>;

/// Measures all of them. `each` hears every answer in the order of `photos` and says whether to go on; `done` hears how many
/// are measured, in any order, and is called at least once a second or so while work goes on.
pub fn run(
    photos: &[PathBuf],
    told: &Told,
    mut done: impl FnMut(usize),
    mut each: impl FnMut(&Path, Answer) -> bool,
) -> Result<(), Refused> {
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let workers = cores.min(photos.len());
    let finder = Finder::new().map_err(|e| Refused(e.to_string()))?;
    let (next, stop) = (AtomicUsize::new(0), AtomicBool::new(false));
    thread::scope(|scope| {
        let (send, receive) = mpsc::channel();
        for _ in 0..workers {
            // Where photographs are fewer than cores, each photograph's networks may have more than one.
            let finder = if workers == cores { finder.beside() } else { finder.clone() };
            let (send, next, stop) = (send.clone(), &next, &stop);
            scope.spawn(move || {
                while !stop.load(Ordering::Relaxed) {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(path) = photos.get(at) else { break };
                    if send.send((at, one(path, &finder, told))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send);
        // Answers that came before their turn: small, and no more of them than one slow photograph lets pass.
        let mut waiting: BTreeMap<usize, Answer> = BTreeMap::new();
        let (mut turn, mut measured) = (0, 0);
        loop {
            match receive.recv_timeout(PATIENCE) {
                Ok((at, answer)) => {
                    waiting.insert(at, answer);
                    measured += 1;
                }
                Err(mpsc::RecvTimeoutError::Timeout) => {}
                Err(mpsc::RecvTimeoutError::Disconnected) => break,
            }
            while let Some(answer) = waiting.remove(&turn) {
                if !each(&photos[turn], answer) {
                    stop.store(true, Ordering::Relaxed);
                    return;
                }
                turn += 1;
            }
            done(measured);
        }
    });
    Ok(())
}

/// How long nothing may be heard before progress is told.
const PATIENCE: std::time::Duration = std::time::Duration::from_millis(900);

fn one(path: &Path, finder: &Finder, told: &Told) -> Answer {
    let bytes = files::bytes(path)
        .map_err(|findings| Refused(findings.first().map_or(String::new(), |f| f.message.clone())))?;
    // A fault of ours in one photograph must not take the others with it.
    catch_unwind(AssertUnwindSafe(|| measure_file(&bytes, finder, told)))
        .unwrap_or_else(|_| Err(Refused(text("measure.fault").to_owned())))
}
