//! The plan: fixed before the weeks begin.

use crate::Value;

/// From which size on an eye sees a difference of colour: below `near` nobody would, from `far` on everybody.
///
/// About 0.8 dE00 on light skin, up to 2.6 on dark (common practice, no source). Where the skin's class is not told the two
/// stand apart, and between them it stays open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// Below it a change is not seen.
    pub near: f64,
    /// From it on a change is seen.
    pub far: f64,
}

impl Eye {
    /// Of skin whose class is not known.
    pub const UNKNOWN: Eye = Eye { near: 0.8, far: 2.6 };

    /// Of a class of skin tone, 0 (very light) to 5 (dark): from 0.8 to 2.6 in even steps, our own choice.
    pub fn of_class(class: usize) -> Eye {
        let one = 0.8 + (2.6 - 0.8) * class.min(5) as f64 / 5.0;
        Eye { near: one, far: one }
    }
}

/// A day on which the plan looks at the result, and what share of the 5 % it may spend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// The day.
    pub day: i32,
    /// Its share of false alarms.
    pub alpha: f64,
}

/// How often the plan looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Looks {
    /// Once, at the end.
    One,
    /// Half way and at the end: .005 and .045.
    Two,
}

/// What was decided beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The primary value; it is locked.
    pub value: &'static Value,
    /// How many days the weeks have, 7 to 366; 28 is usual.
    pub days: u16,
    /// The days of the verdict.
    pub looks: Looks,
    /// The size of the change that matters, in the value's unit, more than 0.
    pub size: f64,
    /// How many baseline days were asked for.
    pub baseline: u8,
    /// A visit each so many days.
    pub every: u8,
    /// Photographs asked for at a visit.
    pub photographs: u8,
    /// What an eye sees on this skin.
    pub eye: Eye,
    /// Work now, measure later: then no verdict on colour is given.
    pub measure_later: bool,
}

impl Plan {
    /// The fewest baseline days with which there is a verdict.
    pub const LEAST_BASELINE: usize = 3;

    /// The usual plan: four weeks, five baseline days, every third day, two photographs, one look.
    pub fn usual(value: &'static Value) -> Plan {
        Plan {
            value,
            days: 28,
            looks: Looks::One,
            size: value.size,
            baseline: 5,
            every: 3,
            photographs: 2,
            eye: Eye::UNKNOWN,
            measure_later: false,
        }
    }

    /// The last day.
    pub fn end(&self) -> i32 {
        i32::from(self.days)
    }

    /// The looks, in order. Half way is rounded down to whole days.
    pub fn looks(&self) -> Vec<Look> {
        match self.looks {
            Looks::One => vec![Look { day: self.end(), alpha: 0.05 }],
            Looks::Two => vec![Look { day: self.end() / 2, alpha: 0.005 }, Look { day: self.end(), alpha: 0.045 }],
        }
    }

    /// The days on which a visit is asked for: the baseline days before day 1, each so many days apart, then 1, 1 + every, ...
    pub fn visit_days(&self) -> Vec<i32> {
        let every = i32::from(self.every.max(1));
        let before = (1..=i32::from(self.baseline)).rev().map(|k| 1 - k * every);
        before.chain((1..=self.end()).step_by(every as usize)).collect()
    }
}
