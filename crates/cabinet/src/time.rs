//! A moment, told by the caller: nothing here reads a clock.

use std::fmt;

use vocab::Date;

const DAY: i64 = 86_400;

/// A moment in whole seconds since 1970-01-01T00:00:00Z. Shown and read as RFC 3339 in UTC, years 1 to 9999.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Time(i64);

impl Time {
    /// From unix seconds; moments outside of the years 1 to 9999 are moved to the nearest one inside.
    pub fn from_unix(seconds: i64) -> Time {
        Time(seconds.clamp(-62_135_596_800, 253_402_300_799))
    }

    /// Unix seconds.
    pub fn unix(self) -> i64 {
        self.0
    }

    /// Reads `YYYY-MM-DDTHH:MM:SSZ`, the form that [`fmt::Display`] writes.
    pub fn parse(text: &str) -> Option<Time> {
        let (day, clock) = text.strip_suffix('Z')?.split_once('T')?;
        let date = Date::parse(day)?;
        let bytes = clock.as_bytes();
        let shape = bytes.len() == 8
            && bytes.iter().enumerate().all(|(i, b)| if i % 3 == 2 { *b == b':' } else { b.is_ascii_digit() });
        if !shape {
            return None;
        }
        let part = |from: usize| clock[from..from + 2].parse::<i64>().ok();
        let (h, m, s) = (part(0)?, part(3)?, part(6)?);
        let start = Date::new(1970, 1, 1)?;
        (h < 24 && m < 60 && s < 60).then(|| Time(date.days_since(start) * DAY + h * 3600 + m * 60 + s))
    }

    /// This many seconds later.
    pub fn plus(self, seconds: i64) -> Time {
        Time::from_unix(self.0.saturating_add(seconds))
    }

    /// The day in UTC.
    pub fn date(self) -> Date {
        let epoch = Date::new(1970, 1, 1).unwrap_or_else(|| unreachable!("there is such a day"));
        // The range of `Time` is the range of `Date`.
        epoch.plus(self.0.div_euclid(DAY)).unwrap_or_else(|| unreachable!("{self:?} is inside of years"))
    }
}

impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = self.0.rem_euclid(DAY);
        write!(f, "{}T{:02}:{:02}:{:02}Z", self.date(), s / 3600, s / 60 % 60, s % 60)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_shown_and_read() {
        // `date -u -d @N +%FT%TZ` (GNU coreutils).
        let check = |unix: i64, text: &str| {
            assert_eq!(Time::from_unix(unix).to_string(), text);
            assert_eq!(Time::parse(text), Some(Time::from_unix(unix)), "{text}");
        };
        check(0, "1970-01-01T00:00:00Z");
        check(951_782_400, "2000-02-29T00:00:00Z");
        check(1_709_251_199, "2024-02-29T23:59:59Z");
        check(-1, "1969-12-31T23:59:59Z");
        check(253_402_300_799, "9999-12-31T23:59:59Z");
        check(-62_135_596_800, "0001-01-01T00:00:00Z");
        for bad in
            ["2024-02-30T00:00:00Z", "2024-02-28T24:00:00Z", "2024-02-28 00:00:00Z", "2024-02-28T00:00:00", "T", ""]
        {
            assert_eq!(Time::parse(bad), None, "{bad}");
        }
        for day in (-700_000..2_900_000).step_by(97) {
            let t = Time::from_unix(day * DAY);
            assert_eq!(Time::parse(&t.to_string()), Some(t));
        }
    }
}
