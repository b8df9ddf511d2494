//! The chapter list of a video.
