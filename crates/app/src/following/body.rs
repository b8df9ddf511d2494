//! The plan of weeks as it is kept, and read back.
