//! Sides, pressure, clearance and movements: small closed sets with one spelling each.

use std::fmt;

/// Which side of the body a step works. Left and right are the person's own, never the viewer's.
///
/// The order (left, right, midline, both) is the order used to break ties between routines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// The person's own left.
    Left,
    /// The person's own right.
    Right,
    /// A place that exists once, on the midline.
    Midline,
    /// Left and right in one step, with both hands at once.
    Both,
}

/// Whether a place exists once (midline) or as left and right.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Sides {
    /// The place exists on the left and on the right.
    Lateral,
    /// The place exists once.
    Midline,
}

impl Sides {
    /// The sides on which the place exists.
    pub fn each(self) -> &'static [Side] {
        match self {
            Sides::Lateral => &[Side::Left, Side::Right],
            Sides::Midline => &[Side::Midline],
        }
    }
}

/// How hard the hand works. Grams for an edge and a fingertip are in the technique data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Pressure {
    /// The weight of the hand's own skin contact; the skin moves, nothing beneath is pressed.
    Featherlight,
    /// A light press; the skin and what lies just beneath.
    Light,
    /// A firm press, never painful.
    Firm,
}

/// What screening says of one candidate. The strictest of all rules that touch it wins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Class {
    /// Nothing speaks against it.
    Go,
    /// Featherlight only.
    Gently,
    /// Left out until a clinician's word is recorded.
    AskFirst,
    /// Left out.
    LeaveOut,
    /// No routine today.
    Stop,
}

impl Class {
    /// Whether a step of this class may be done at all (go and gently).
    pub fn allows(self) -> bool {
        self <= Class::Gently
    }
}

/// A routine's part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Movement {
    /// From the collarbone outward.
    Open,
    /// The oil, when what follows glides.
    Prepare,
    /// The work itself.
    Work,
    /// Back to the collarbone.
    Close,
}

macro_rules! spelled {
    ($type:ident { $($variant:ident => $word:literal),+ $(,)? }) => {
        impl $type {
            /// Every value, in order.
            pub const ALL: &'static [$type] = &[$($type::$variant),+];
            /// The spelling used in files and in JSON.
            pub fn word(self) -> &'static str {
                match self { $($type::$variant => $word),+ }
            }
            /// Reads the spelling used in files; `None` if it is no such word.
            pub fn from_word(word: &str) -> Option<$type> {
                match word { $($word => Some($type::$variant),)+ _ => None }
            }
        }
        impl fmt::Display for $type {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result { f.write_str(self.word()) }
        }
    };
}

spelled!(Side { Left => "left", Right => "right", Midline => "midline", Both => "both" });
spelled!(Sides { Lateral => "lateral", Midline => "midline" });
spelled!(Pressure { Featherlight => "featherlight", Light => "light", Firm => "firm" });
spelled!(Class { Go => "go", Gently => "gently", AskFirst => "ask_first", LeaveOut => "leave_out", Stop => "stop" });
spelled!(Movement { Open => "open", Prepare => "prepare", Work => "work", Close => "close" });

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_reads_back() {
        for side in Side::ALL {
            assert_eq!(Side::from_word(side.word()), Some(*side));
        }
        for class in Class::ALL {
            assert_eq!(Class::from_word(class.word()), Some(*class));
        }
        assert_eq!(Pressure::from_word("heavy"), None);
    }

    #[test]
    fn strictness_and_tie_order() {
        assert!(Class::Go < Class::Gently && Class::AskFirst < Class::LeaveOut && Class::LeaveOut < Class::Stop);
        assert!(Side::Left < Side::Right && Side::Right < Side::Midline && Side::Midline < Side::Both);
        assert!(Pressure::Featherlight < Pressure::Light && Pressure::Light < Pressure::Firm);
    }
}
