//! First and latest: two photographs chosen by rule.
