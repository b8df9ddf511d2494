//! A calendar date without a clock: the edge says what day it is.

use std::fmt;

/// A day of the proleptic Gregorian calendar, years 1 to 9999.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Date {
    year: i32,
    month: u8,
    day: u8,
}

impl Date {
    /// The date, or `None` if there is no such day.
    pub fn new(year: i32, month: u8, day: u8) -> Option<Date> {
        let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
        let last = match month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 => 28 + u8::from(leap),
            _ => return None,
        };
        ((1..=9999).contains(&year) && (1..=last).contains(&day)).then_some(Date { year, month, day })
    }

    /// Reads `YYYY-MM-DD`.
    pub fn parse(text: &str) -> Option<Date> {
        let bytes = text.as_bytes();
        let digits = bytes.len() == 10
            && bytes.iter().enumerate().all(|(i, b)| if i == 4 || i == 7 { *b == b'-' } else { b.is_ascii_digit() });
        if !digits {
            return None;
        }
        Date::new(text[..4].parse().ok()?, text[5..7].parse().ok()?, text[8..].parse().ok()?)
    }

    /// Days since 0000-03-01 (H. Hinnant, "chrono-compatible low-level date algorithms", days_from_civil).
    fn ordinal(self) -> i64 {
        let y = i64::from(self.year) - i64::from(self.month <= 2);
        let era = y.div_euclid(400);
        let yoe = y.rem_euclid(400);
        let m = i64::from(self.month);
        let doy = (153 * (m + if m > 2 { -3 } else { 9 }) + 2) / 5 + i64::from(self.day) - 1;
        era * 146_097 + yoe * 365 + yoe / 4 - yoe / 100 + doy
    }

    /// Whole days from `earlier` to `self`; negative when `earlier` is later.
    pub fn days_since(self, earlier: Date) -> i64 {
        self.ordinal() - earlier.ordinal()
    }

    /// So many days later, or with a negative number earlier; `None` outside of the years 1 to 9999.
    pub fn plus(self, days: i64) -> Option<Date> {
        // H. Hinnant, "chrono-compatible low-level date algorithms", civil_from_days.
        let z = self.ordinal().checked_add(days)?;
        let era = z.div_euclid(146_097);
        let doe = z.rem_euclid(146_097);
        let yoe = (doe - doe / 1460 + doe / 36_524 - doe / 146_096) / 365;
        let doy = doe - (365 * yoe + yoe / 4 - yoe / 100);
        let mp = (5 * doy + 2) / 153;
        let month = if mp < 10 { mp + 3 } else { mp - 9 };
        let year = yoe + era * 400 + i64::from(month <= 2);
        Date::new(i32::try_from(year).ok()?, month as u8, (doy - (153 * mp + 2) / 5 + 1) as u8)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_read_and_count() {
        let d = |t: &str| Date::parse(t).unwrap_or_else(|| panic!("{t} is a date"));
        assert_eq!(d("2024-03-01").days_since(d("2024-02-28")), 2);
        assert_eq!(d("2023-03-01").days_since(d("2023-02-28")), 1);
        assert_eq!(d("2026-01-01").days_since(d("2025-01-01")), 365);
        assert_eq!(d("2000-01-01").days_since(d("1970-01-01")), 10_957);
        assert_eq!(d("2026-11-25").to_string(), "2026-11-25");
        for (from, days, to) in [
            ("2024-02-28", 2, Some("2024-03-01")),
            ("2023-03-01", -1, Some("2023-02-28")),
            ("1970-01-01", 10_957, Some("2000-01-01")),
            ("9999-12-31", 1, None),
            ("0001-01-01", -1, None),
            ("2000-01-01", i64::MAX, None),
        ] {
            assert_eq!(d(from).plus(days), to.map(d), "{from} and {days} days");
        }
        for days in (-700_000..2_900_000).step_by(97) {
            let there = d("1970-01-01").plus(days).expect("a day");
            assert_eq!(there.days_since(d("1970-01-01")), days);
        }
        for bad in ["2023-02-29", "2026-13-01", "2026-00-10", "26-01-01", "2026-1-01", "2026-01-0x", "±026-01-01"] {
            assert_eq!(Date::parse(bad), None, "{bad}");
        }
    }
}
