//! A rule is a sum of measures of the face: `0.5 v10 + 0.5 v151 + 1.5 cun_across`.

use vocab::Side;

use super::FINGER_MM;
use crate::{Head, VERTICES};

/// What a term of a rule measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A landmark of the person's own left, or its mirror.
    Landmark(usize),
    /// The middle of the pupil.
    Pupil,
    /// The brow's height at the rule's place across.
    Brow,
    /// The hairline's height at the rule's place across.
    Hairline,
    /// Where the hairline turns toward the temple.
    Corner,
    /// One B-cun upward.
    CunUp,
    /// One B-cun across.
    CunAcross,
    /// The breadth of a finger.
    Finger,
    /// The breadth of a thumb.
    FingerCun,
    /// A millimetre.
    Mm,
}

impl What {
    /// Whether it is a length rather than a place.
    pub fn unit(self) -> bool {
        matches!(self, What::CunUp | What::CunAcross | What::Finger | What::FingerCun | What::Mm)
    }

    fn read(word: &str) -> Result<What, String> {
        Ok(match word {
            "pupil" => What::Pupil,
            "brow" => What::Brow,
            "hairline" => What::Hairline,
            "corner" => What::Corner,
            "cun_up" => What::CunUp,
            "cun_across" => What::CunAcross,
            "finger" => What::Finger,
            "finger_cun" => What::FingerCun,
            "mm" => What::Mm,
            _ => {
                let number = word.strip_prefix('v').and_then(|n| n.parse::<usize>().ok());
                match number {
                    Some(n) if n < VERTICES => What::Landmark(n),
                    Some(_) => return Err(format!("`{word}`: landmarks are v0 to v467")),
                    None => {
                        return Err(format!(
                            "`{word}` is no measure: write a landmark such as v263, pupil, brow, hairline, corner, cun_up, \
                             cun_across, finger, finger_cun or mm"
                        ));
                    }
                }
            }
        })
    }
}

/// One term: how often, of what.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Term {
    /// How often.
    pub times: f64,
    /// Of what.
    pub what: What,
}

/// A sum of terms, of which the places add up to 1, so that the rule moves as the face does.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule(Vec<Term>);

impl Rule {
    /// Reads a rule. `upward`: it says a height.
    ///
    /// # Errors
    /// What is wrong with it, and what could be written.
    pub fn parse(text: &str, upward: bool) -> Result<Rule, String> {
        let mut terms = Vec::new();
        let mut sign = 1.0;
        let mut open: Vec<&str> = Vec::new();
        let mut close = |words: &mut Vec<&str>, sign: f64| -> Result<(), String> {
            let (times, name) = match words.as_slice() {
                [name] => (1.0, *name),
                [times, name] => {
                    let number = times.parse::<f64>().ok().filter(|n| n.is_finite() && n.abs() <= 100.0);
                    (number.ok_or_else(|| format!("`{}`: write a number and a measure", words.join(" ")))?, *name)
                }
                [] => return Err("a term is missing: write for example v263 + 0.5 cun_across".to_owned()),
                _ => return Err(format!("`{}`: part the terms with + or -", words.join(" "))),
            };
            let what = What::read(name)?;
            if !upward && matches!(what, What::Brow | What::Hairline) {
                return Err(format!("`{name}` is a height: it stands only upward"));
            }
            terms.push(Term { times: sign * times, what });
            words.clear();
            Ok(())
        };
        for word in text.split_whitespace() {
            match word {
                "+" | "-" => {
                    close(&mut open, sign)?;
                    sign = if word == "+" { 1.0 } else { -1.0 };
                }
                _ => open.push(word),
            }
        }
        close(&mut open, sign)?;
        let places: f64 = terms.iter().filter(|t| !t.what.unit()).map(|t| t.times).sum();
        if (places - 1.0).abs() > 0.002 {
            return Err(format!("the places (landmarks, pupil, brow ...) must add up to 1, not {places}"));
        }
        Ok(Rule(terms))
    }

    /// Its terms.
    pub fn terms(&self) -> &[Term] {
        &self.0
    }

    /// The place across on a head, millimetres; lengths count outward on either side.
    pub fn across(&self, head: &Head, side: Side) -> f64 {
        let outward = if side == Side::Right { -1.0 } else { 1.0 };
        let value = |t: &Term| match t.what {
            What::Landmark(n) => head.point(n, side)[0],
            What::Pupil => head.pupil(side)[0],
            What::Corner => head.corner(side)[0],
            _ => outward * length(t.what, head, side),
        };
        self.0.iter().map(|t| t.times * value(t)).sum()
    }

    /// The height on a head at a place across, millimetres.
    pub fn up(&self, head: &Head, side: Side, x: f64) -> f64 {
        let value = |t: &Term| match t.what {
            What::Landmark(n) => head.point(n, side)[1],
            What::Pupil => head.pupil(side)[1],
            What::Brow => head.brow(x, side),
            What::Hairline => head.hairline.height(x),
            What::Corner => head.corner(side)[1],
            _ => length(t.what, head, side),
        };
        self.0.iter().map(|t| t.times * value(t)).sum()
    }
}

fn length(what: What, head: &Head, side: Side) -> f64 {
    match what {
        What::CunUp => head.cun_up(),
        What::CunAcross => head.cun_across(side),
        What::Finger => FINGER_MM.0,
        What::FingerCun => head.thumb_mm(),
        _ => 1.0,
    }
}
