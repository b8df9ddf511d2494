//! What the planner answers: a routine with its reasons, or why there is none.

use vocab::{Class, Side};

use crate::atlas::{ConcernIx, Grade, TargetIx, ToolIx};
use crate::routine::Step;

/// A drafted routine.
#[derive(Clone, Debug)]
pub struct Draft {
    /// The steps in order, with times and reasons.
    pub steps: Vec<DraftStep>,
    /// The length of the whole, transitions included, in seconds.
    pub total_s: u32,
    /// The gain in integer thousandths of a weight.
    pub gain: u64,
    /// An upper bound on any routine's gain; equal to `gain` when proven best.
    pub bound: u64,
    /// Whether no better routine exists for this request.
    pub proven_best: bool,
    /// What serves the concerns and is not in, with the reason.
    pub left_out: Vec<LeftOut>,
    /// The best gain for each whole number of minutes from 2 to 30, ascending; minutes without a draft are omitted.
    pub curve: Vec<CurvePoint>,
    /// Shorter endings, solved beforehand.
    pub fallbacks: Vec<Fallback>,
    /// The way is blocked here: only featherlight work lies beyond. (zone ids with side)
    pub blocked: Vec<(String, Side)>,
}

impl Draft {
    /// Steps that nobody drafted: nothing is said of gain or of what is out.
    pub fn by_hand(steps: Vec<DraftStep>, total_s: u32, blocked: Vec<(String, Side)>) -> Draft {
        Draft {
            steps,
            total_s,
            gain: 0,
            bound: 0,
            proven_best: false,
            left_out: Vec::new(),
            curve: Vec::new(),
            fallbacks: Vec::new(),
            blocked,
        }
    }
}

/// One step of a draft.
#[derive(Clone, Debug)]
pub struct DraftStep {
    /// The step.
    pub step: Step,
    /// Its start in seconds from the beginning.
    pub start_s: u32,
    /// Its end in seconds from the beginning.
    pub end_s: u32,
    /// Why it is there; never empty.
    pub why: Vec<Why>,
}

/// Why a step is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Why {
    /// It lies on the way from these worked targets to the collarbone.
    OnTheWay {
        /// Worked targets whose way it is.
        from: Vec<(TargetIx, Side)>,
    },
    /// It closes a way that was opened.
    ClosesTheWay,
    /// These steps glide.
    NeedsOil {
        /// The targets that are worked with a glide.
        glides: Vec<TargetIx>,
    },
    /// It serves a concern.
    Serves {
        /// The concern.
        concern: ConcernIx,
        /// Priority times link weight.
        weight: u32,
        /// On what the link rests.
        grade: Grade,
    },
    /// The practitioner's own weight.
    OwnWeight(u32),
    /// It was tender or tight when last worked.
    Tender,
    /// The practitioner wants it.
    Wanted,
    /// The practitioner locked it.
    Locked,
    /// Softened by these rules: to featherlight by screening, by one class where it was red or hurt last time.
    Softened {
        /// Rule ids.
        rules: Vec<String>,
    },
    /// Softened to featherlight, because an opening on its way had to be skipped.
    WayBlocked {
        /// Zones whose opening was skipped.
        skipped: Vec<(String, Side)>,
    },
}

/// A target that serves the concerns and is not in the routine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// The target.
    pub target: TargetIx,
    /// The side; both when both sides are out for the same reason.
    pub side: Side,
    /// The reason.
    pub reason: OutReason,
}

/// What kept a target out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OutReason {
    /// Screening rules.
    Screening {
        /// The strictest class met.
        class: Class,
        /// Rule ids.
        rules: Vec<String>,
    },
    /// It is in the atlas, but not for the hand.
    Never(String),
    /// No technique of it can be done with the tools at hand.
    Tool {
        /// Tools that would do.
        needs: Vec<ToolIx>,
    },
    /// No technique of it takes the lowered pressure.
    Pressure {
        /// Rules (or skipped openings) that lowered it.
        rules: Vec<String>,
    },
    /// The practitioner does not want it.
    Unwanted,
    /// The zone already has as many targets as it may.
    ZoneFull,
    /// The minutes: it would take at least so many seconds more than are left, or more than what it replaces gives.
    Seconds {
        /// Seconds that its shortest form adds to this routine, openings, closings, oil and transitions included.
        needs_s: u32,
        /// Seconds that this routine leaves free.
        spare_s: u32,
    },
}

/// The best gain for a number of minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CurvePoint {
    /// Whole minutes.
    pub minutes: u32,
    /// The best gain in thousandths.
    pub gain: u64,
}

/// A shorter rest of the routine for when time runs over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fallback {
    /// After the step of this index (0-based).
    pub after_step: usize,
    /// When only so many seconds are left.
    pub seconds_left: u32,
    /// What is done instead of the rest, closing included.
    pub steps: Vec<Step>,
}

/// Why there is no draft.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoDraft {
    /// The reason.
    pub reason: NoReason,
    /// The smallest set of things to let go of so that there is one; empty if none is known.
    pub release: Vec<Release>,
}

/// Why there is no draft.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoReason {
    /// Screening says stop.
    Stop {
        /// Rule ids.
        rules: Vec<String>,
    },
    /// Questions are unanswered, and nothing may be worked until they are.
    Unanswered {
        /// Groups or conditions to answer.
        questions: Vec<String>,
    },
    /// Everything that serves the concerns is left out.
    NothingAllowed {
        /// Rule ids met on the way.
        rules: Vec<String>,
    },
    /// Nothing allowed fits the minutes.
    TooShort {
        /// The fewest seconds any routine of this request needs.
        needs_s: u32,
    },
    /// What is locked or wanted may not be worked.
    LockedNotAllowed,
    /// What is locked or wanted does not fit the minutes together.
    LockedTooLong {
        /// The fewest seconds it needs.
        needs_s: u32,
    },
}

/// Something to let go of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Release {
    /// Let go of a lock.
    Lock(TargetIx),
    /// Let go of a wish.
    Want(TargetIx),
    /// Give more minutes.
    Minutes(u32),
    /// Answer these.
    Answer(Vec<String>),
    /// Have a clinician's word on these rules recorded.
    Clinician(Vec<String>),
    /// Wait until what stands behind these rules is over: no clinician's word lifts a stop.
    Wait(Vec<String>),
    /// Ask another concern, or take more tools: what serves this one is left out.
    OtherConcern,
}
