//! What an assessment says, in sentences.
