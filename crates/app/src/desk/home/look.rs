//! A home note looked at before it is kept: whose it is, and what of it is new.

use cabinet::{ClientId, Error, HomeNote as Kept, Reader, WeeksId, Writer};
use serde_json::Value;
use vocab::Date;

use crate::catalogue::{fill, text};
use crate::notes::{Day, HomeNote};

/// What is already kept of a day.
#[derive(Clone, Debug, PartialEq)]
pub enum State {
    /// Nothing.
    New,
    /// The same.
    Same,
    /// Something else. `more`: the note holds everything that is kept, and more.
    Differs {
        /// The home note that is kept.
        kept: Box<Kept>,
        /// Whether nothing of it would be lost.
        more: bool,
    },
}

/// Whose a note is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whose {
    /// This client's: the code says so.
    Theirs(ClientId),
    /// The code does not say: it was given to many, or was not made in this practice.
    Unsure,
}

/// A note, looked at.
#[derive(Debug)]
pub struct Looked {
    /// Whose.
    pub client: ClientId,
    /// Their name.
    pub name: String,
    /// Whether the code says that it is theirs.
    pub sure: bool,
    /// Each day with what is kept of it.
    pub days: Vec<(Day, State)>,
}

/// To whom the code of a note belongs.
///
/// # Errors
/// Of the store.
fn whose(r: &Reader<'_>, note: &HomeNote) -> Result<Whose, Error> {
    let given = r.takehome_with(&note.code)?;
    Ok(given.and_then(|t| t.client).map_or(Whose::Unsure, Whose::Theirs))
}

/// Looks at a note. `at`: the client at whose page it came in; none: the code has to say whose it is. In words why it can't be kept.
///
/// # Errors
/// Of the store.
pub fn look(r: &Reader<'_>, note: &HomeNote, at: Option<ClientId>) -> Result<Result<Looked, String>, Error> {
    let (client, sure) = match (whose(r, note)?, at) {
        (Whose::Theirs(client), None) => (client, true),
        (Whose::Theirs(client), Some(at)) if client == at => (at, true),
        (Whose::Theirs(_), Some(at)) => {
            let name = r.client(at)?.details.name;
            return Ok(Err(fill("homenotes.not_theirs", &[("code", &note.code), ("name", &name)])));
        }
        (Whose::Unsure, Some(at)) => (at, false),
        (Whose::Unsure, None) => {
            let known = r.takehome_with(&note.code)?.is_some();
            let why = if known { "homenotes.for_many" } else { "homenotes.unknown_code" };
            return Ok(Err(fill(why, &[("code", &note.code)])));
        }
    };
    let name = r.client(client)?.details.name;
    if !r.consents_to(client, cabinet::ConsentKind::Care)? {
        return Ok(Err(fill("homenotes.no_consent", &[("name", &name)])));
    }
    let kept = r.home_notes(client)?;
    let days = note.days.iter().map(|day| (day.clone(), state(&kept, day))).collect();
    Ok(Ok(Looked { client, name, sure, days }))
}

fn state(kept: &[Kept], day: &Day) -> State {
    let Some(there) = kept.iter().rev().find(|k| k.day == day.day) else { return State::New };
    let was: Value = serde_json::from_str(there.body.as_str()).unwrap_or_default();
    let is = day.body();
    if was == is {
        return State::Same;
    }
    let sessions = |body: &Value| body.get("sessions").and_then(Value::as_array).cloned();
    let more = match (sessions(&was), sessions(&is)) {
        (Some(was), Some(is)) => was.iter().all(|session| is.contains(session)),
        _ => false,
    };
    State::Differs { kept: Box::new(there.clone()), more }
}

/// What keeping came to.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Done {
    /// Days that are new.
    pub new: usize,
    /// Days that were replaced.
    pub replaced: usize,
    /// Days that were there as they are.
    pub same: usize,
    /// Days that were left as they were kept.
    pub left: usize,
}

/// Keeps a note that was looked at; a day that is kept otherwise is replaced only where `replace` names it.
///
/// # Errors
/// There is no consent to care; of the store.
pub fn keep(w: &Writer<'_>, looked: &Looked, replace: &[Date]) -> Result<Done, Error> {
    w.require(looked.client, cabinet::ConsentKind::Care)?;
    let weeks = w.weeks(looked.client)?;
    let plan = |day: Date| -> Option<WeeksId> {
        let within = |w: &&cabinet::Weeks| (0..i64::from(w.days)).contains(&day.days_since(w.first));
        weeks.iter().rev().find(within).map(|w| w.id)
    };
    let mut done = Done::default();
    for (day, state) in &looked.days {
        let body = cabinet::Json::new(day.body().to_string())?;
        match state {
            State::New => {
                w.add_home_note(looked.client, plan(day.day), day.day, &body)?;
                done.new += 1;
            }
            State::Same => done.same += 1,
            State::Differs { kept, .. } if replace.contains(&day.day) => {
                w.change_home_note(kept.id, &body)?;
                done.replaced += 1;
            }
            State::Differs { .. } => done.left += 1,
        }
    }
    Ok(done)
}

/// What keeping came to, in words.
pub fn told(name: &str, done: Done) -> String {
    let mut said = vec![fill("homenotes.kept", &[("name", &name), ("n", &done.new)])];
    for (n, key) in [
        (done.replaced, "homenotes.kept_replaced"),
        (done.same, "homenotes.kept_same"),
        (done.left, "homenotes.kept_left"),
    ] {
        if n > 0 {
            said.push(fill(key, &[("n", &n)]));
        }
    }
    said.join(" ")
}

/// What is kept of a day, in a word.
pub fn state_words(state: &State) -> &'static str {
    match state {
        State::New => text("homenotes.new"),
        State::Same => text("homenotes.same"),
        State::Differs { more: true, .. } => text("homenotes.more"),
        State::Differs { .. } => text("homenotes.differs"),
    }
}
