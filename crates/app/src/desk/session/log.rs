//! A session's log as it is kept: what it ran, what happened, what was done and felt. The page sends all events each time; what
//! can't have happened is refused.
//!
//! `{"score", "plan", "view", "posture", "room", "whom", "events", "seen", "ended", "seconds", "steps"}`: `score` and `plan` are what was
//! begun and never change, so that a log can be replayed without the atlas of its day.

use cabinet::Json;
use plan::atlas::Atlas;
use plan::routine::Step;
use plan::session::{Do, Ending, Event, Felt, Hold, Over, Phase, Score, State, Status};
use serde_json::{Map, Value, json};
use vocab::{Movement, Pressure, Side};

use crate::catalogue::{fill, text};

/// More events no session has.
const MOST_EVENTS: usize = 4000;
/// By so many milliseconds the page's clock may be ahead of ours.
const AHEAD_MS: u64 = 20_000;
/// By so many milliseconds a page that comes may have seen less than the one that left.
const BACK_MS: u64 = 3000;
/// A hold of less counts as not done, in milliseconds.
const LEAST_MS: u64 = 1000;

/// A log, read.
pub struct Log {
    whole: Map<String, Value>,
    score: Score,
}

/// Why events are refused, in words.
#[derive(Debug, PartialEq, Eq)]
pub enum Refused {
    /// Another window has gone on, or the session was closed.
    Elsewhere(String),
    /// It can't have happened.
    Impossible(String),
}

impl Log {
    /// The log of a session that begins: nothing has happened.
    pub fn begin(atlas: &Atlas, steps: &[Step], score: Score, about: &[(&str, &str)]) -> Log {
        let plan: Vec<Value> = steps
            .iter()
            .map(|s| {
                json!({ "target": s.target_id(atlas), "side": s.side.word(), "technique": s.technique_id(atlas), "seconds": s.seconds })
            })
            .collect();
        let mut whole = Map::new();
        whole.insert("score".to_owned(), serde_json::from_str(&score.json()).unwrap_or_default());
        whole.insert("plan".to_owned(), json!(plan));
        for (name, said) in about {
            whole.insert((*name).to_owned(), json!(said));
        }
        for (name, value) in [
            ("events", json!([])),
            ("seen", json!(0)),
            ("ended", Value::Null),
            ("seconds", json!(0)),
            ("steps", json!([])),
        ] {
            whole.insert(name.to_owned(), value);
        }
        Log { whole, score }
    }

    /// A kept log; none where it is not one of ours that can be gone on with (an older one, one that came from elsewhere).
    pub fn read(kept: &Json) -> Option<Log> {
        let Value::Object(whole) = serde_json::from_str(kept.as_str()).ok()? else { return None };
        let score = score_of(whole.get("score")?)?;
        Some(Log { whole, score })
    }

    /// As it is kept.
    ///
    /// # Errors
    /// It is too long.
    pub fn json(&self) -> Result<Json, cabinet::Error> {
        Json::new(Value::Object(self.whole.clone()).to_string())
    }

    /// What it runs.
    pub fn score(&self) -> &Score {
        &self.score
    }

    /// A word that was said at the beginning.
    pub fn about(&self, name: &str) -> &str {
        self.whole.get(name).and_then(Value::as_str).unwrap_or_default()
    }

    /// How it ended; none while it goes on.
    pub fn ended(&self) -> Option<&str> {
        self.whole.get("ended").and_then(Value::as_str)
    }

    /// Milliseconds that it had come to when it was last heard of.
    pub fn seen(&self) -> u64 {
        self.whole.get("seen").and_then(Value::as_u64).unwrap_or(0)
    }

    /// Whether anything has happened.
    pub fn begun(&self) -> bool {
        !self.events().is_empty()
    }

    fn events(&self) -> &[Value] {
        self.whole.get("events").and_then(Value::as_array).map_or(&[], Vec::as_slice)
    }

    /// What the page needs to go on: events and the time it was last seen at.
    pub fn restore(&self) -> Value {
        json!({ "events": self.events(), "seen": self.seen() })
    }

    /// Where it stands.
    pub fn state(&self) -> State {
        let events: Vec<Event> = self.events().iter().filter_map(event).collect();
        replayed(&self.score, &events, self.seen()).0
    }

    /// Takes what a page sends: all events so far, and the time it has come to; at most `passed` milliseconds can have passed since
    /// the session began. What came before is a beginning of it, or it of that: a page that sends twice does no harm.
    ///
    /// # Errors
    /// Something else is kept, or it can't have happened; nothing has changed then.
    pub fn take(&mut self, sent: &Value, passed: u64) -> Result<(), Refused> {
        let impossible = |what: String| Refused::Impossible(fill("session.impossible", &[("what", &what)]));
        let events = sent.get("events").and_then(Value::as_array);
        let seen = sent.get("seen").and_then(Value::as_u64);
        let (Some(events), Some(seen)) = (events, seen) else {
            return Err(impossible(text("session.no_events").to_owned()));
        };
        if self.ended().is_some_and(|e| sent.get("ended").and_then(Value::as_str) != Some(e)) {
            return Err(Refused::Elsewhere(text("session.is_closed").to_owned()));
        }
        if events.len() > MOST_EVENTS {
            return Err(impossible(fill("session.too_many", &[("n", &MOST_EVENTS)])));
        }
        let known = self.events();
        // A page that leaves says "pause", and the page that comes says it as well, a moment earlier or later.
        let twice = |i: usize, a: &Value, b: &Value| {
            let pause = |e: &Value| e.get("do").and_then(Value::as_str) == Some("pause");
            i + 1 == known.len().min(events.len()) && pause(a) && pause(b)
        };
        let same = known.iter().zip(events).enumerate().all(|(i, (a, b))| a == b || twice(i, a, b));
        if !same {
            return Err(Refused::Elsewhere(text("session.other_window").to_owned()));
        }
        if known.len() > events.len() {
            return Ok(());
        }
        let read: Vec<Event> = events.iter().filter_map(event).collect();
        if let Some(n) = (0..events.len()).find(|i| event(&events[*i]).is_none()) {
            return Err(impossible(fill("session.bad_event", &[("n", &(n + 1))])));
        }
        if let Some(n) = read.windows(2).position(|two| two[0].at > two[1].at) {
            return Err(impossible(fill("session.backward", &[("n", &(n + 2))])));
        }
        if read.first().is_some_and(|first| first.what != Do::Start) {
            return Err(impossible(text("session.no_start").to_owned()));
        }
        if seen.saturating_add(BACK_MS) < self.seen() || read.last().is_some_and(|last| last.at > seen) {
            return Err(impossible(text("session.seen_back").to_owned()));
        }
        if seen > passed.saturating_add(AHEAD_MS) {
            return Err(impossible(text("session.ahead").to_owned()));
        }
        let mut state = State::begin(&self.score);
        for (n, event) in read.iter().enumerate() {
            state.until(&self.score, event.at);
            if state.phase == Phase::Over {
                return Err(impossible(fill("session.after_end", &[("n", &(n + 1))])));
            }
            state.apply(&self.score, event);
        }
        let (state, worked) = replayed(&self.score, &read, seen);
        let over = state.over.map(Over::word);
        if sent.get("ended").and_then(Value::as_str) != over {
            return Err(impossible(text("session.other_end").to_owned()));
        }
        self.whole.insert("events".to_owned(), json!(events));
        self.whole.insert("seen".to_owned(), json!(seen));
        self.whole.insert("ended".to_owned(), json!(over));
        self.done(&state, &worked);
        Ok(())
    }

    /// Closes what was not ended: it stays as far as it came.
    pub fn close(&mut self) {
        if self.ended().is_none() {
            self.whole.insert("ended".to_owned(), json!(Over::Early.word()));
        }
    }

    fn done(&mut self, state: &State, worked: &[u64]) {
        let plan = self.whole.get("plan").and_then(Value::as_array).cloned().unwrap_or_default();
        let done = |i: &usize| worked[*i] >= LEAST_MS;
        let steps: Vec<Value> = (0..plan.len().min(worked.len()))
            .filter(done)
            .map(|i| {
                let mut step = plan[i].clone();
                step["seconds"] = json!((worked[i] + 500) / 1000);
                step
            })
            .collect();
        self.whole.insert("seconds".to_owned(), json!((state.spent + 500) / 1000));
        self.whole.insert("steps".to_owned(), json!(steps));
    }

    /// What was felt where, each once: `target`, `side`, `felt`, in the order in which it was said.
    pub fn places(&self) -> Vec<Value> {
        let plan = self.whole.get("plan").and_then(Value::as_array).cloned().unwrap_or_default();
        let mut places: Vec<Value> = Vec::new();
        for (step, felt, _) in &self.state().felt {
            let Some(at) = plan.get(*step) else { continue };
            let place = json!({ "target": at["target"], "side": at["side"], "felt": felt.word() });
            if !places.contains(&place) {
                places.push(place);
            }
        }
        places
    }
}

/// The state after these events at this time, and for each step the milliseconds that were worked.
fn replayed(score: &Score, events: &[Event], at: u64) -> (State, Vec<u64>) {
    let mut worked = vec![0; score.steps.len()];
    let mut state = State::begin(score);
    let mut pass = |state: &mut State, to: u64| {
        // From boundary to boundary, so that each millisecond falls to its step.
        while state.now < to {
            let next = if state.paused || state.left == 0 { to } else { to.min(state.now + state.left) };
            let (step, holds, spent) = (state.present(), state.phase == Phase::Hold, state.spent);
            state.until(score, next);
            if let (Some(step), true) = (step, holds) {
                worked[step] += state.spent - spent;
            }
            if state.phase == Phase::Over || state.phase == Phase::Ready {
                state.until(score, to);
            }
        }
    };
    for event in events {
        pass(&mut state, event.at);
        state.apply(score, event);
    }
    pass(&mut state, at);
    // What was left out in the end does not count as done, but what was felt there does.
    for (i, status) in state.status.iter().enumerate() {
        if *status == Status::LeftOut {
            worked[i] = 0;
        }
    }
    (state, worked)
}

/// One event; none where its words or its time are none of ours.
fn event(sent: &Value) -> Option<Event> {
    let felt = match sent.get("felt") {
        None => None,
        Some(felt) => Some(felt.as_str()?),
    };
    let what = Do::from_words(sent.get("do")?.as_str()?, felt)?;
    Some(Event { at: sent.get("at")?.as_u64()?, what })
}

fn number<T: TryFrom<u64>>(of: &Value, name: &str) -> Option<T> {
    T::try_from(of.get(name)?.as_u64()?).ok()
}

fn numbers(of: &Value, name: &str) -> Option<Vec<usize>> {
    of.get(name)?.as_array()?.iter().map(|n| usize::try_from(n.as_u64()?).ok()).collect()
}

/// A score from its JSON; none where anything is missing, or a number points at no step.
fn score_of(kept: &Value) -> Option<Score> {
    let steps: Vec<Hold> = kept.get("steps")?.as_array()?.iter().map(hold).collect::<Option<_>>()?;
    let change = kept.get("change")?;
    let endings = kept
        .get("endings")?
        .as_array()?
        .iter()
        .map(|e| Some(Ending { after: number(e, "after")?, late: number(e, "late")?, drop: numbers(e, "drop")? }));
    let score = Score {
        change: [number(change, "tool")?, number(change, "side")?, number(change, "zone")?],
        lead: number(kept, "lead")?,
        talk: number(kept, "talk")?,
        budget: number(kept, "budget")?,
        slack: number(kept, "slack")?,
        endings: endings.collect::<Option<_>>()?,
        steps,
    };
    let n = score.steps.len();
    let within = |all: &[usize]| all.iter().all(|i| *i < n);
    let sound = score.steps.iter().all(|s| s.target < n && within(&s.needs) && within(&s.closes))
        && score.endings.iter().all(|e| e.after < n && within(&e.drop));
    (sound && n > 0).then_some(score)
}

fn hold(of: &Value) -> Option<Hold> {
    let pressure = |name| Pressure::ALL.get(number::<usize>(of, name)?).copied();
    let flag = |name| of.get(name).and_then(Value::as_bool);
    let word = |name| of.get(name).and_then(Value::as_str);
    Some(Hold {
        movement: Movement::from_word(word("movement")?)?,
        target: number(of, "target")?,
        side: Side::from_word(word("side")?)?,
        tool: number(of, "tool")?,
        zone: usize::try_from(of.get("zone")?.as_i64()?).ok(),
        seconds: number(of, "seconds")?,
        least: number(of, "least")?,
        most: number(of, "most")?,
        grow: number(of, "grow")?,
        pressure: pressure("pressure")?,
        softest: pressure("softest")?,
        delicate: flag("delicate")?,
        needs: numbers(of, "needs")?,
        closes: numbers(of, "closes")?,
        glides: flag("glides")?,
    })
}

/// What may be felt, by its word: for the pages.
pub fn is_urgent(ended: &str) -> bool {
    ["sign", Felt::Dizzy.word(), Felt::Numb.word()].contains(&ended)
}

#[cfg(test)]
#[path = "log_tests.rs"]
mod tests;
