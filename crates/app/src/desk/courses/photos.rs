//! Photographs from home by the folder: each finds its client by the take-home's code in its path, and its day by its name or its camera.
//! A file goes into the encrypted cabinet at once, as it is; it is measured from there ([`super::measure`]).

use cabinet::{ClientId, ConsentKind, Error, Json, NewPhotograph, Reader, VisitId, Writer};
use vocab::Date;

use super::report::Report;
use crate::catalogue::{fill, text};
use crate::desk::keep::{at_noon, date_in_words};
use crate::desk::visits::MOST_KEPT;
use crate::following::days::local_day;
use crate::own;

/// The beginning of the names of shots that came so.
pub const SHOT: &str = "home";
/// No code is shorter.
const LEAST_CODE: usize = 6;

/// A file that can be kept: whose, of which day.
struct Found {
    client: ClientId,
    day: Date,
}

/// The codes that a path may hold, those of the file's own name first.
fn tokens(path: &str) -> Vec<&str> {
    let parts: Vec<&str> = path.split(['/', '\\']).collect();
    let words = parts.iter().rev().flat_map(|p| p.split(|c: char| !c.is_ascii_alphanumeric()));
    words.filter(|w| w.len() >= LEAST_CODE).collect()
}

/// The day in a file's name: `2026-03-02`, `20260302`, `2026_03_02`.
fn day_in(path: &str) -> Option<Date> {
    let name = path.rsplit(['/', '\\']).next().unwrap_or_default().as_bytes();
    let digits = |from: usize, n: usize| {
        let part = name.get(from..from + n)?;
        part.iter().all(u8::is_ascii_digit).then(|| std::str::from_utf8(part).ok()?.parse::<u16>().ok()).flatten()
    };
    let bounded = |from: usize, to: usize| {
        let digit = |i: Option<usize>| i.and_then(|i| name.get(i)).is_some_and(u8::is_ascii_digit);
        !digit(from.checked_sub(1)) && !digit(Some(to))
    };
    (0..name.len()).find_map(|i| {
        let year = digits(i, 4).filter(|y| (2000..2100).contains(y))?;
        let apart =
            name.get(i + 4).is_some_and(|b| matches!(b, b'-' | b'_' | b'.')) && name.get(i + 4) == name.get(i + 7);
        let (m, d, end) = if apart { (i + 5, i + 8, i + 10) } else { (i + 4, i + 6, i + 8) };
        if !bounded(i, end) {
            return None;
        }
        Date::new(i32::from(year), u8::try_from(digits(m, 2)?).ok()?, u8::try_from(digits(d, 2)?).ok()?)
    })
}

/// Whose a file is, and of which day; or why it can't be kept, in words.
fn look(r: &Reader<'_>, path: &str, bytes: &[u8], today: Date) -> Result<Result<Found, String>, Error> {
    let mut for_all = false;
    let mut client = None;
    for word in tokens(path) {
        if let Some(given) = r.takehome_with(word)? {
            for_all |= given.client.is_none();
            client = given.client;
            if client.is_some() {
                break;
            }
        }
    }
    let Some(client) = client else {
        return Ok(Err(text(if for_all { "coursein.photo_for_all" } else { "coursein.no_code" }).to_owned()));
    };
    let name = r.client(client)?.details.name;
    if !r.consents_to(client, ConsentKind::Care)? || !r.consents_to(client, ConsentKind::Photographs)? {
        return Ok(Err(fill("coursein.no_consent", &[("name", &name)])));
    }
    let Some(day) = day_in(path).or_else(|| vision::day_taken(bytes)) else {
        return Ok(Err(text("coursein.no_day").to_owned()));
    };
    if day > today {
        return Ok(Err(fill("coursein.later_day", &[("day", &date_in_words(day))])));
    }
    Ok(Ok(Found { client, day }))
}

/// The visit at home of that day, if there is one.
fn at_home(r: &Reader<'_>, found: &Found) -> Result<Option<VisitId>, Error> {
    let place = text("coursein.at_home");
    let is = |v: &cabinet::Visit| {
        let said: serde_json::Value = serde_json::from_str(v.conditions.as_str()).unwrap_or_default();
        said["place"] == place && local_day(v.at) == found.day
    };
    Ok(r.visits(found.client)?.iter().find(|v| is(v)).map(|v| v.id))
}

/// Keeps a photograph; it is measured afterwards.
///
/// # Errors
/// Of the store.
pub fn keep(w: &Writer<'_>, path: &str, bytes: &[u8], today: Date, report: &mut Report) -> Result<(), Error> {
    report.files += 1;
    let refuse = |why: &str| fill("homenotes.refused", &[("name", &path), ("why", &why)]);
    let found = match look(w, path, bytes, today)? {
        Ok(found) => found,
        Err(why) => {
            report.broken.add(refuse(&why));
            return Ok(());
        }
    };
    if w.has_photograph(found.client, bytes)? {
        report.photographs[1] += 1;
        return Ok(());
    }
    let photo = match own::photograph(bytes) {
        Ok(photo) => photo,
        Err(why) => {
            report.broken.add(refuse(&why.0));
            return Ok(());
        }
    };
    let visit = match at_home(w, &found)? {
        Some(visit) => visit,
        None => {
            let said = serde_json::json!({ "place": text("coursein.at_home") });
            w.add_visit(found.client, at_noon(found.day), &Json::new(said.to_string())?)?
        }
    };
    let kept = w.photographs(visit)?;
    if kept.len() >= MOST_KEPT {
        report.broken.add(refuse(&fill("visit.no_room", &[("most", &MOST_KEPT)])));
        return Ok(());
    }
    let names = (1..=MOST_KEPT).map(|n| format!("{SHOT} {n}"));
    let shot = names.into_iter().find(|n| kept.iter().all(|p| p.shot != *n)).unwrap_or_default();
    let media = crate::desk::visits::media(photo.format);
    w.add_photograph(visit, &NewPhotograph { shot: &shot, media, width: photo.width, height: photo.height, bytes })?;
    report.photographs[0] += 1;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_tells_code_and_day() {
        let check =
            |path: &str, day: Option<&str>| assert_eq!(day_in(path).map(|d| d.to_string()).as_deref(), day, "{path}");
        check("k7p2w9x4ab/face-2026-03-02.jpg", Some("2026-03-02"));
        check("face-2026-03-02-k7p2w9x4ab.jpg", Some("2026-03-02"));
        check("IMG_20260302_073012.jpg", Some("2026-03-02"));
        check("PXL_20260302.jpg", Some("2026-03-02"));
        check("2026_03_02.png", Some("2026-03-02"));
        check("2026-03-02/one.jpg", None);
        check("DSC120260302.jpg", None);
        check("face-2026-13-02.jpg", None);
        check("1772438400123.jpg", None);
        assert_eq!(tokens("course/k7p2w9x4ab/face 1.jpg"), ["k7p2w9x4ab", "course"]);
    }
}
