//! What several tests share.
#![allow(dead_code)]

pub mod book;
pub mod random;
pub mod screened;
