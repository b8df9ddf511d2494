//! The times of the steps as they stand in the form, and what is made of them.

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
        Wrong::Order(step, ..) | Wrong::Double(step, _) => field(step.saturating_sub(1)),
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
