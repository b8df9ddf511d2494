//! The times of the steps as they stand in the form, and what is made of them.

use maud::{Markup, html};
use publish::retime::{self, Wrong};

use crate::catalogue::{fill, sentence_case, text};
use crate::desk::clients::said;
use crate::filming;

/// The fields, as typed or tapped.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Taps {
    /// For each step a time, or nothing.
    pub starts: Vec<String>,
    /// How long the finished film is; empty: not known.
    pub length: String,
}

/// The steps that a form's times were typed for: its hidden fields.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Meant {
    /// The number of the routine's version.
    pub version: String,
    /// The names of the steps, in order.
    pub steps: Vec<String>,
}

impl Meant {
    /// Of a form.
    pub fn read(form: &[u8]) -> Meant {
        let steps = form_urlencoded::parse(form).filter(|(name, _)| name == "step").map(|(_, v)| v.into_owned());
        Meant { version: said(form, "version"), steps: steps.collect() }
    }

    /// The fields.
    pub fn fields(version: u32, steps: &[String]) -> Markup {
        html! {
            input type="hidden" name="version" value=(version);
            @for step in steps { input type="hidden" name="step" value=(step); }
        }
    }

    /// Whether these are the very steps.
    pub fn is(&self, version: u32, steps: &[String]) -> bool {
        self.version == version.to_string() && self.steps == steps
    }

    /// A form's times for other steps than those of now: each beside the step of the same name, where there is one and where a place comes
    /// several times the same one of them; and all that was typed, each under the name that it was typed for.
    pub fn carried(&self, form: &[u8], steps: &[String]) -> (Taps, Vec<String>) {
        let typed = self.typed(form);
        let mut starts = vec![String::new(); steps.len()];
        for (i, start) in starts.iter_mut().enumerate() {
            let nth = steps[..i].iter().filter(|s| **s == steps[i]).count();
            let same = self.steps.iter().enumerate().filter(|(_, s)| **s == steps[i]).nth(nth);
            if let Some((_, time)) = same.and_then(|(n, _)| typed.iter().find(|(m, _)| *m == n)) {
                start.clone_from(time);
            }
        }
        let all = typed.iter().map(|(n, time)| {
            let name =
                self.steps.get(*n).map_or_else(|| fill("film.tap_step", &[("n", &(n + 1))]), |s| sentence_case(s));
            fill("film.tap_taken", &[("name", &name), ("at", time)])
        });
        (Taps { starts, length: said(form, "length") }, all.collect())
    }

    /// Every time of a form that is not empty, with the number of its field from 0.
    fn typed(&self, form: &[u8]) -> Vec<(usize, String)> {
        let number = |name: &str| name.strip_prefix('t')?.parse::<usize>().ok()?.checked_sub(1);
        let fields = form_urlencoded::parse(form).filter_map(|(name, v)| Some((number(&name)?, v.trim().to_owned())));
        let mut all: Vec<(usize, String)> = fields.filter(|(_, time)| !time.is_empty()).collect();
        all.sort_by_key(|(n, _)| *n);
        all
    }
}

/// What can't be used: the id of its field, and a sentence that says what to do.
pub type Problem = (String, String);

/// The id and name of a step's field.
pub fn field(step: usize) -> String {
    format!("t{}", step + 1)
}

impl Taps {
    /// Of times that are kept.
    pub fn of(times: &[f64], length: Option<f64>) -> Taps {
        Taps { starts: times.iter().map(|t| written(*t)).collect(), length: length.map_or_else(String::new, written) }
    }

    /// Of a form, for so many steps.
    pub fn read(form: &[u8], steps: usize) -> Taps {
        Taps { starts: (0..steps).map(|i| said(form, &field(i))).collect(), length: said(form, "length") }
    }

    /// A time for each step, those that are missing in proportion to what was planned; and the length of the film.
    ///
    /// # Errors
    /// Everything that can't be used.
    pub fn times(&self, planned: &[f64]) -> Result<(Vec<f64>, Option<f64>), Vec<Problem>> {
        let mut wrong: Vec<Problem> = Vec::new();
        let mut read = |id: String, typed: &str| match typed {
            "" => None,
            typed => {
                let time = retime::seconds(typed);
                if time.is_none() {
                    let word: String = typed.chars().take(40).collect();
                    wrong.push((id, fill("film.bad_time", &[("word", &word)])));
                }
                time
            }
        };
        let taps: Vec<Option<f64>> = self.starts.iter().enumerate().map(|(i, s)| read(field(i), s)).collect();
        let length = read("length".to_owned(), &self.length);
        if !wrong.is_empty() {
            return Err(wrong);
        }
        let times = retime::filled(&taps, planned).map_err(|all| {
            all.iter().map(|w| (place(w), sentence_case(&full(&filming::wrong(w))))).collect::<Vec<_>>()
        })?;
        let Some(last) = times.last() else { return Err(vec![(field(0), text("film.no_time").to_owned())]) };
        match length {
            Some(length) if length <= *last => {
                let values: [(&str, &dyn std::fmt::Display); 2] =
                    [("length", &written(length)), ("last", &written(*last))];
                Err(vec![("length".to_owned(), fill("film.bad_length", &values))])
            }
            length => Ok((times, length)),
        }
    }
}

fn full(said: &str) -> String {
    crate::catalogue::full_stop(said)
}

/// The field that a finding belongs to.
fn place(wrong: &Wrong) -> String {
    match wrong {
        Wrong::Order(step, ..) | Wrong::Double(step, _) | Wrong::Room(step, ..) => field(step.saturating_sub(1)),
        _ => field(0),
    }
}

/// A time as it is typed: `1:23.5`.
pub fn written(seconds: f64) -> String {
    let tenths = (seconds.max(0.0) * 10.0).round() as u64;
    let (m, s, tenth) = (tenths / 600, tenths / 10 % 60, tenths % 10);
    if tenth == 0 { format!("{m}:{s:02}") } else { format!("{m}:{s:02}.{tenth}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(starts: &[&str], length: &str) -> Taps {
        Taps { starts: starts.iter().map(|s| (*s).to_owned()).collect(), length: length.into() }
    }

    #[test]
    fn times_are_taken_as_they_are_written_and_gaps_are_filled() {
        let planned = [0.0, 20.0, 40.0, 60.0];
        let (times, length) = typed(&["0:05", "", "0:45.5", "1:05"], "1:30").times(&planned).expect("times");
        assert_eq!((times, length), (vec![5.0, 25.25, 45.5, 65.0], Some(90.0)));
        let again = Taps::of(&[5.0, 45.5, 65.0], Some(90.0));
        assert_eq!(again, typed(&["0:05", "0:45.5", "1:05"], "1:30"));
        assert_eq!([written(59.96), written(3600.0), written(0.0)], ["1:00", "60:00", "0:00"]);
        for t in [0.0, 0.1, 9.9, 59.9, 61.2, 4000.3] {
            assert_eq!(retime::seconds(&written(t)), Some(t), "{t}");
        }
    }

    #[test]
    fn times_for_other_steps_go_to_the_same_ones_and_none_is_lost() {
        let steps = |all: &[&str]| all.iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
        let form = b"version=1&step=a&step=b&step=a&step=c&t1=0:10&t2=0:20&t3=0:30&t4=0:40&t6=1:00&length=2:00&token=x";
        let meant = Meant::read(form);
        assert!(meant.is(1, &steps(&["a", "b", "a", "c"])));
        assert!(!meant.is(2, &steps(&["a", "b", "a", "c"])) && !meant.is(1, &steps(&["a", "b", "a", "d"])));
        let (taps, all) = meant.carried(form, &steps(&["b", "a", "d", "a", "a"]));
        assert_eq!(taps, typed(&["0:20", "0:10", "", "0:30", ""], "2:00"));
        assert_eq!(all, ["A: 0:10", "B: 0:20", "A: 0:30", "C: 0:40", "Step 6: 1:00"]);
        assert!(!Meant::read(b"t1=0:10").is(1, &[]));
    }

    #[test]
    fn what_can_t_be_used_names_its_field() {
        let planned = [0.0, 20.0, 40.0];
        let fields = |starts: &[&str], length: &str| {
            let wrong = typed(starts, length).times(&planned).expect_err("it is wrong");
            assert!(wrong.iter().all(|(_, why)| why.len() > 20 && why.ends_with('.')), "{wrong:?}");
            wrong.into_iter().map(|(field, _)| field).collect::<Vec<_>>()
        };
        assert_eq!(fields(&["soon", "1:75", "3"], "x"), ["t1", "t2", "length"]);
        assert_eq!(fields(&["0:30", "0:20", "0:40"], ""), ["t2"]);
        assert_eq!(fields(&["0:30", "0:30.4", ""], ""), ["t2"]);
        assert_eq!(fields(&["", "", ""], ""), ["t1"]);
        assert_eq!(fields(&["0:01", "0:20", "0:40"], "0:39"), ["length"]);
    }
}
