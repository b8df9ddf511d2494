//! The reader of a series: strict, within bounds, and it says where something is wrong.
//!
//! It knows no catalogue, so that the fuzzer can be given this very file. The form is in docs/series.md.

use std::collections::BTreeMap;

use vocab::Date;

/// The most rows of a series.
pub const MOST_ROWS: usize = 20_000;
/// The most days between the first and the last row.
pub const MOST_DAYS: i64 = 800;
/// The most characters of a label.
pub const MOST_LABEL: usize = 200;
/// The columns there are.
pub const COLUMNS: [&str; 6] = ["date", "side", "value", "visit", "photo", "worked"];
/// Those that must be there.
const NEEDED: [&str; 3] = ["date", "value", "worked"];

/// What a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum RowSide {
    /// The person's own left.
    Left,
    /// The person's own right.
    Right,
    /// The whole face.
    Face,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its 1-based line.
    pub line: usize,
    /// The day.
    pub date: Date,
    /// What it is about.
    pub side: RowSide,
    /// The value; none: only whether there was a session is told.
    pub value: Option<f64>,
    /// Label of the visit; may be empty.
    pub visit: String,
    /// Label of the photograph; may be empty.
    pub photo: String,
    /// Whether there was a session on this day and side.
    pub worked: bool,
}

/// A series that holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The rows in the order of the file; one at least.
    pub rows: Vec<Row>,
    /// Headings that are not known; their columns are not read.
    pub unknown: Vec<String>,
}

/// Something wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct Wrong {
    /// 1-based line; 0: the whole.
    pub line: usize,
    /// What.
    pub why: Why,
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// The file is empty, or its first line is.
    NoHeadings,
    /// This heading is missing; perhaps this other one is meant to be it.
    Missing(&'static str, Option<String>),
    /// This heading stands twice.
    HeadingTwice(String),
    /// No row beneath the headings.
    NoRows,
    /// More rows than [`MOST_ROWS`].
    TooMany,
    /// So many fields, and so many headings.
    Fields(usize, usize),
    /// No row of a table.
    NoRow,
    /// Not a date.
    Date(String),
    /// Not a side.
    Side(String),
    /// Not a number.
    Number(String),
    /// Out of range.
    Range(String),
    /// Neither yes nor no.
    Worked(String),
    /// A label that is too long.
    Label(&'static str),
    /// This photograph and side stand on that line already.
    PhotoTwice(usize),
    /// This photograph has a row for the whole face, or for a side, on that line already.
    FaceAndSide(usize),
    /// On that line the opposite is said of this day and side.
    WorkedOtherwise(usize),
    /// On that line this visit has another date.
    VisitOnTwoDays(usize),
    /// More than [`MOST_DAYS`] after the first date, which stands on that line.
    TooLong(usize),
    /// No row has a value.
    NoValue,
}

/// Reads a series; a value outside of `range` is an error.
///
/// # Errors
/// Everything that is wrong, by line; never empty.
pub fn read(text: &str, range: [f64; 2]) -> Result<Table, Vec<Wrong>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let Some(first) = text.lines().next().filter(|l| !l.trim().is_empty()) else {
        return Err(vec![Wrong { line: 1, why: Why::NoHeadings }]);
    };
    let delimiter = if first.matches(';').count() > first.matches(',').count() { b';' } else { b',' };
    let mut table =
        csv::ReaderBuilder::new().delimiter(delimiter).has_headers(false).flexible(true).from_reader(text.as_bytes());
    let lines = Lines::of(text);
    let mut records = table.records();
    let headings = records.next().and_then(Result::ok).unwrap_or_default();
    let Headings { at, unknown, count } = Headings::read(&headings)?;
    let mut rows = Vec::new();
    let mut wrong = Vec::new();
    for record in records {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                wrong.push(Wrong { line: lines.at(error.position()), why: Why::NoRow });
                continue;
            }
        };
        let line = lines.at(record.position());
        if record.iter().all(|f| f.trim().is_empty()) {
            continue;
        }
        if rows.len() + wrong.len() >= MOST_ROWS {
            wrong.push(Wrong { line, why: Why::TooMany });
            break;
        }
        if record.len() != count {
            wrong.push(Wrong { line, why: Why::Fields(record.len(), count) });
            continue;
        }
        let field = |k: usize| at[k].and_then(|n| record.get(n)).unwrap_or("").trim();
        match row(line, &std::array::from_fn(field), delimiter == b';', range) {
            Ok(row) => rows.push(row),
            Err(all) => wrong.extend(all.into_iter().map(|why| Wrong { line, why })),
        }
    }
    if wrong.is_empty() && rows.is_empty() {
        wrong.push(Wrong { line: 0, why: Why::NoRows });
    } else if wrong.is_empty() && rows.iter().all(|r| r.value.is_none()) {
        wrong.push(Wrong { line: 0, why: Why::NoValue });
    }
    wrong.extend(together(&rows));
    wrong.sort_by_key(|w| w.line);
    if wrong.is_empty() { Ok(Table { rows, unknown }) } else { Err(wrong) }
}

/// Where each of [`COLUMNS`] stands.
struct Headings {
    at: [Option<usize>; 6],
    unknown: Vec<String>,
    count: usize,
}

impl Headings {
    fn read(record: &csv::StringRecord) -> Result<Headings, Vec<Wrong>> {
        let (mut at, mut unknown, mut wrong) = ([None; 6], Vec::new(), Vec::new());
        for (n, heading) in record.iter().enumerate() {
            let heading = heading.trim();
            match COLUMNS.iter().position(|c| heading.eq_ignore_ascii_case(c)) {
                Some(k) if at[k].is_some() => wrong.push(Why::HeadingTwice(COLUMNS[k].to_owned())),
                Some(k) => at[k] = Some(n),
                None if heading.is_empty() => {}
                None => unknown.push(shortened(heading)),
            }
        }
        for needed in NEEDED {
            let k = COLUMNS.iter().position(|c| *c == needed);
            if k.is_some_and(|k| at[k].is_none()) {
                let near = unknown.iter().find(|u| vocab::nearest(u, [needed]).is_some());
                wrong.push(Why::Missing(needed, near.cloned()));
            }
        }
        if !wrong.is_empty() {
            return Err(wrong.into_iter().map(|why| Wrong { line: 1, why }).collect());
        }
        Ok(Headings { at, unknown, count: record.len() })
    }
}

fn row(line: usize, fields: &[&str; 6], comma: bool, range: [f64; 2]) -> Result<Row, Vec<Why>> {
    let [date, side, value, visit, photo, worked] = *fields;
    let mut wrong = Vec::new();
    let day = Date::parse(date);
    if day.is_none() {
        wrong.push(Why::Date(shortened(date)));
    }
    let of = match side.to_ascii_lowercase().as_str() {
        "left" => Some(RowSide::Left),
        "right" => Some(RowSide::Right),
        "face" | "both" | "" => Some(RowSide::Face),
        _ => None,
    };
    if of.is_none() {
        wrong.push(Why::Side(shortened(side)));
    }
    let number = match number(value, comma) {
        _ if value.is_empty() => None,
        Some(n) if n.is_finite() && (range[0]..=range[1]).contains(&n) => Some(n),
        Some(n) if n.is_finite() => {
            wrong.push(Why::Range(shortened(value)));
            None
        }
        _ => {
            wrong.push(Why::Number(shortened(value)));
            None
        }
    };
    let done = match worked.to_ascii_lowercase().as_str() {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    };
    if done.is_none() {
        wrong.push(Why::Worked(shortened(worked)));
    }
    for (label, name) in [(visit, "visit"), (photo, "photo")] {
        if label.chars().count() > MOST_LABEL {
            wrong.push(Why::Label(name));
        }
    }
    match (day, of, done) {
        (Some(date), Some(side), Some(worked)) if wrong.is_empty() => {
            Ok(Row { line, date, side, value: number, visit: visit.to_owned(), photo: photo.to_owned(), worked })
        }
        _ => Err(wrong),
    }
}

/// A number with a decimal point; where fields are parted by semicolons, also with a decimal comma. A real minus sign is one too.
fn number(text: &str, comma: bool) -> Option<f64> {
    let text = text.replace('\u{2212}', "-");
    let text =
        if comma && text.matches(',').count() == 1 && !text.contains('.') { text.replace(',', ".") } else { text };
    // What a spreadsheet writes; not `inf`, `nan` or the like.
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'+' | b'-' | b'.' | b'e' | b'E'));
    if plain { text.parse().ok() } else { None }
}

/// A photograph by its day, visit and label.
type Taken<'r> = (Date, &'r str, &'r str);

/// What rows say against each other.
fn together(rows: &[Row]) -> Vec<Wrong> {
    let mut wrong = Vec::new();
    let mut photos: BTreeMap<Taken<'_>, Vec<(RowSide, usize)>> = BTreeMap::new();
    let mut worked: BTreeMap<(Date, RowSide), (bool, usize)> = BTreeMap::new();
    let mut visits: BTreeMap<&str, (Date, usize)> = BTreeMap::new();
    let first = rows.iter().min_by_key(|r| r.date);
    for row in rows {
        let line = row.line;
        if let Some(first) = first.filter(|f| row.date.days_since(f.date) > MOST_DAYS) {
            wrong.push(Wrong { line, why: Why::TooLong(first.line) });
        }
        if !row.photo.is_empty() && row.value.is_some() {
            let seen = photos.entry((row.date, &row.visit, &row.photo)).or_default();
            if let Some((_, at)) = seen.iter().find(|(side, _)| *side == row.side) {
                wrong.push(Wrong { line, why: Why::PhotoTwice(*at) });
            } else if let Some((_, at)) =
                seen.iter().find(|(side, _)| (*side == RowSide::Face) != (row.side == RowSide::Face))
            {
                wrong.push(Wrong { line, why: Why::FaceAndSide(*at) });
            }
            seen.push((row.side, line));
        }
        let sides: &[RowSide] = match row.side {
            RowSide::Face => &[RowSide::Left, RowSide::Right],
            RowSide::Left => &[RowSide::Left],
            RowSide::Right => &[RowSide::Right],
        };
        let against = sides.iter().find_map(|s| {
            let (said, at) = *worked.entry((row.date, *s)).or_insert((row.worked, line));
            (said != row.worked).then_some(at)
        });
        if let Some(at) = against {
            wrong.push(Wrong { line, why: Why::WorkedOtherwise(at) });
        }
        if !row.visit.is_empty() {
            let (date, at) = *visits.entry(&row.visit).or_insert((row.date, line));
            if date != row.date {
                wrong.push(Wrong { line, why: Why::VisitOnTwoDays(at) });
            }
        }
    }
    wrong
}

fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(40).collect();
    if short.len() < text.len() {
        short.push('\u{2026}');
    }
    short
}

/// The line on which a record's first field stands. The reader's own position stands before the line end that it skips.
struct Lines<'t> {
    bytes: &'t [u8],
    starts: Vec<usize>,
}

impl Lines<'_> {
    fn of(text: &str) -> Lines<'_> {
        let ends = text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1);
        Lines { bytes: text.as_bytes(), starts: std::iter::once(0).chain(ends).collect() }
    }

    fn at(&self, position: Option<&csv::Position>) -> usize {
        let mut at = position.map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0));
        while self.bytes.get(at).is_some_and(|b| matches!(b, b'\r' | b'\n')) {
            at += 1;
        }
        self.starts.partition_point(|s| *s <= at).max(1)
    }
}
