//! The chapter list of a video: it begins at 0:00, has three chapters or more, and each lasts ten seconds or longer.
//!
//! These are the bounds that large video hosts ask for, from memory.

/// The least seconds of a chapter.
pub const LEAST_S: u64 = 10;
/// So many chapters, or there is no list.
pub const LEAST_CHAPTERS: usize = 3;
/// The most letters of a title.
pub const MOST_TITLE: usize = 60;
/// Shorter ones are joined where there are enough of them.
const GOOD_S: u64 = 30;

/// Where something new begins.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// When, in seconds of the video.
    pub from: f64,
    /// The part it belongs to: a movement's heading, or what is said before and after.
    pub part: String,
    /// The place; empty for none.
    pub place: String,
}

/// A chapter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chapter {
    /// When it begins, in whole seconds of the video.
    pub from: u64,
    /// What it is called.
    pub title: String,
}

/// The chapters of these marks, in order, of a video of so many seconds; none: it is too short for three.
pub fn chapters(marks: &[Mark], length: f64) -> Vec<Chapter> {
    [GOOD_S, LEAST_S]
        .iter()
        .map(|least| at_least(marks, length, *least))
        .find(|list| list.len() >= LEAST_CHAPTERS)
        .unwrap_or_default()
}

/// A chapter that is being put together: where it begins, its parts, each with its places.
type Growing = (u64, Vec<(String, Vec<String>)>);

/// The chapters of the parts alone.
pub fn by_part(marks: &[Mark], length: f64) -> Vec<Chapter> {
    let bare: Vec<Mark> = marks.iter().map(|m| Mark { place: String::new(), ..m.clone() }).collect();
    chapters(&bare, length)
}

fn at_least(marks: &[Mark], length: f64, least: u64) -> Vec<Chapter> {
    let mut list: Vec<Growing> = Vec::new();
    let mut before: Option<&Mark> = None;
    for mark in marks {
        let from = mark.from.max(0.0) as u64;
        // Another part of the routine is a chapter of its own as soon as it may be; the same place once more is none.
        let same = before.is_some_and(|b| (&b.part, &b.place) == (&mark.part, &mark.place));
        let new_part = list.last().is_some_and(|(_, parts)| parts.iter().all(|(part, _)| *part != mark.part));
        let needed = if new_part { LEAST_S } else { least };
        let joins = list.last().is_some_and(|(begun, _)| from < begun + needed || same);
        before = Some(mark);
        match list.last_mut().filter(|_| joins) {
            Some((_, parts)) => take(parts, mark),
            None => {
                let mut parts = Vec::new();
                take(&mut parts, mark);
                list.push((if list.is_empty() { 0 } else { from }, parts));
            }
        }
    }
    let end = length.max(0.0) as u64;
    while list.len() > 1 && list.last().is_some_and(|(from, _)| end < from + LEAST_S) {
        if let (Some((_, last)), Some((_, before))) = (list.pop(), list.last_mut()) {
            for (part, places) in last {
                for place in places.into_iter().chain([String::new()]) {
                    take(before, &Mark { from: 0.0, part: part.clone(), place });
                }
            }
        }
    }
    if list.len() == 1 && end < LEAST_S {
        list.clear();
    }
    let mut before = "";
    let mut chapters = Vec::new();
    for (from, parts) in &list {
        // What goes on within a part is called after its places alone.
        let goes_on = parts.len() == 1 && parts[0].0 == before && !parts[0].1.is_empty();
        chapters.push(Chapter { from: *from, title: title(parts, goes_on) });
        before = parts.last().map_or("", |(part, _)| part);
    }
    chapters
}

fn take(parts: &mut Vec<(String, Vec<String>)>, mark: &Mark) {
    let at = parts.iter().position(|(part, _)| *part == mark.part).unwrap_or_else(|| {
        parts.push((mark.part.clone(), Vec::new()));
        parts.len() - 1
    });
    let places = &mut parts[at].1;
    if !mark.place.is_empty() && !places.contains(&mark.place) {
        places.push(mark.place.clone());
    }
}

/// Part and places; as many places as there is room for.
fn title(parts: &[(String, Vec<String>)], goes_on: bool) -> String {
    let mut title = parts.iter().map(|(part, _)| part.as_str()).collect::<Vec<_>>().join(" · ");
    let mut between = ": ";
    if goes_on {
        (title, between) = (String::new(), "");
    }
    for place in parts.iter().flat_map(|(_, places)| places) {
        if title.chars().count() + between.len() + place.chars().count() > MOST_TITLE {
            break;
        }
        title.push_str(between);
        title.push_str(place);
        between = ", ";
    }
    if title.is_empty() {
        title = parts.iter().flat_map(|(_, places)| places).next().cloned().unwrap_or_default();
    }
    let mut letters = title.chars();
    title = letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect());
    if title.chars().count() > MOST_TITLE {
        let cut: String = title.chars().take(MOST_TITLE - 1).collect();
        title = format!("{}…", cut.trim_end());
    }
    title
}

/// The list as text: a line for each, `M:SS title`, with hours where there are any.
pub fn list(chapters: &[Chapter]) -> String {
    let line = |c: &Chapter| {
        let (h, m, s) = (c.from / 3600, c.from / 60 % 60, c.from % 60);
        let clock = if h > 0 { format!("{h}:{m:02}:{s:02}") } else { format!("{m}:{s:02}") };
        format!("{clock} {}\n", c.title)
    };
    chapters.iter().map(line).collect()
}

#[cfg(test)]
mod tests;
