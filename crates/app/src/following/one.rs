//! One client's weeks: plan, values, sessions, notes, and what they say.
