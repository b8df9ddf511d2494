//! The one clock: which day it is here.

use vocab::Date;

/// Today where this machine stands; `None` if its clock tells no day.
pub fn today() -> Option<Date> {
    Date::parse(&jiff::ZonedDateTime::now().date().to_string())
}
