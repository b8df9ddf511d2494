//! Timings taken anew by tapping along.
