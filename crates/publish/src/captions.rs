//! Captions: lines broken, timed and written as WebVTT.
