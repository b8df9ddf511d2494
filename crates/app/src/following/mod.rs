//! Following a client through the weeks: from the cabinet to `follow`, and from `follow` to words.

pub mod body;
pub mod chart;
pub mod days;
pub mod evidence;
pub mod many;
pub mod measured;
pub mod one;
pub mod pair;
pub mod readings;
pub mod report;
mod report_chart;
pub mod report_words;
pub mod words;
