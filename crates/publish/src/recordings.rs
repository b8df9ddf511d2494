//! A caption file of an old recording as a draft routine.
