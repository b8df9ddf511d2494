//! A course: everybody's change in one go.
