//! The cue track: chimes to film along with, as WAV.
