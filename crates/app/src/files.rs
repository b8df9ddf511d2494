//! Reading and writing the files that a person names, with errors that say what to do.

use std::fs;
use std::io::Read;
use std::path::Path;

use plan::atlas::Atlas;
use vocab::Finding;
use vocab::read::MAX_BYTES;

use crate::catalogue::{fill, text};

/// The whole text of a file. `-` reads standard input.
pub fn read(path: &Path) -> Result<String, Vec<Finding>> {
    let name = path.display().to_string();
    let refuse = |message: String| vec![Finding::new(name.clone(), 0, message)];
    if path.is_dir() {
        return Err(refuse(text("files.directory").to_owned()));
    }
    let mut bytes = Vec::new();
    // One byte more than is read at most, so that a longer file is seen to be longer.
    let most = MAX_BYTES as u64 + 1;
    let read = if path == Path::new("-") {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes)
    } else {
        fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes))
    };
    read.map_err(|error| refuse(fill("files.unreadable", &[("error", &error)])))?;
    if bytes.len() > MAX_BYTES {
        return Err(refuse(fill("files.too_long", &[("most", &MAX_BYTES)])));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let line = error.as_bytes()[..good].iter().filter(|b| **b == b'\n').count() + 1;
        vec![Finding::new(name.clone(), line, text("files.not_utf8"))]
    })
}

/// All bytes of a file, up to one more than `most`. `-` reads standard input.
pub fn bytes_of(path: &Path, most: usize) -> Result<Vec<u8>, Vec<Finding>> {
    let refuse = |message: String| vec![Finding::new(path.display().to_string(), 0, message)];
    if path.is_dir() {
        return Err(refuse(text("files.directory").to_owned()));
    }
    let mut bytes = Vec::new();
    let most = most as u64 + 1;
    let read = if path == Path::new("-") {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes)
    } else {
        fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes))
    };
    read.map_err(|error| refuse(fill("files.unreadable", &[("error", &error)])))?;
    Ok(bytes)
}

/// All bytes of a picture's file, up to one more than a photograph may have.
pub fn bytes(path: &Path) -> Result<Vec<u8>, Vec<Finding>> {
    let refuse = |message: String| vec![Finding::new(path.display().to_string(), 0, message)];
    if path.is_dir() {
        return Err(refuse(text("files.directory").to_owned()));
    }
    let mut bytes = Vec::new();
    let most = vision::Limits::default().most_bytes as u64 + 1;
    let read = fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes));
    read.map_err(|error| refuse(fill("files.unreadable", &[("error", &error)])))?;
    Ok(bytes)
}

/// Writes a picture that the person asked for.
pub fn write_bytes(path: &Path, contents: &[u8]) -> Result<(), Vec<Finding>> {
    fs::write(path, contents)
        .map_err(|e| vec![Finding::new(path.display().to_string(), 0, fill("files.unwritable", &[("error", &e)]))])
}

/// Writes a file that the person asked for; never over the file the command reads.
pub fn write(path: &Path, contents: &str, reads: &Path) -> Result<(), Vec<Finding>> {
    let name = path.display().to_string();
    let same = fs::canonicalize(path).ok().zip(fs::canonicalize(reads).ok()).is_some_and(|(a, b)| a == b);
    if same {
        return Err(vec![Finding::new(name, 0, text("files.same"))]);
    }
    fs::write(path, contents)
        .map_err(|error| vec![Finding::new(name, 0, fill("files.unwritable", &[("error", &error)]))])
}

/// Name and text of each file.
pub fn texts<'p>(
    paths: impl IntoIterator<Item = &'p std::path::PathBuf>,
) -> Result<Vec<(String, String)>, Vec<Finding>> {
    paths.into_iter().map(|path| Ok((path.display().to_string(), read(path)?))).collect()
}

/// The built-in atlas with the practitioner's own files merged over it, in the order given.
pub fn atlas(texts: &[(String, String)]) -> Result<Atlas, Vec<Finding>> {
    if texts.is_empty() {
        return Ok(Atlas::built_in());
    }
    let own = texts.iter().map(|(name, text)| (name.as_str(), text.as_str()));
    let files: Vec<(&str, &str)> = Atlas::built_in_files().iter().copied().chain(own.clone()).collect();
    let atlas = Atlas::load(&files)?;
    for (name, text) in own {
        let places = face::Places::among(name, text)?;
        let unknown = places.codes().find(|code| !atlas.targets.iter().any(|t| t.id == **code));
        if let Some(code) = unknown {
            return Err(vec![Finding::new(name, 0, fill("files.place_unknown", &[("id", &code)]))]);
        }
        crate::own::add_places(places);
    }
    Ok(atlas)
}
