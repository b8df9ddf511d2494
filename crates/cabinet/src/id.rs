//! One type for the number of each kind of thing, so that a visit is never taken for a client.

use rusqlite::types::{FromSql, FromSqlResult, ToSql, ToSqlOutput, ValueRef};

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident = $word:literal;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub struct $name(pub(crate) i64);

        impl $name {
            /// The word for such a thing, in errors and in the change log.
            pub const WORD: &'static str = $word;

            /// From the number in an address or a file; whether there is such a thing shows when it is asked for.
            pub fn from_number(number: i64) -> Self {
                Self(number)
            }

            /// The number; never given to another thing, not after an erasure either.
            pub fn number(self) -> i64 {
                self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromSql for $name {
            fn column_result(value: ValueRef<'_>) -> FromSqlResult<Self> {
                i64::column_result(value).map(Self)
            }
        }

        impl ToSql for $name {
            fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
                self.0.to_sql()
            }
        }
    )*};
}

ids! {
    /// A client.
    ClientId = "client";
    /// One giving or withdrawing of a consent.
    ConsentId = "consent";
    /// One set of intake answers.
    IntakeId = "intake";
    /// A clinician's word.
    WordId = "clinician's word";
    /// A visit.
    VisitId = "visit";
    /// A photograph.
    PhotographId = "photograph";
    /// A measurement.
    MeasurementId = "measurement";
    /// A correction by hand.
    CorrectionId = "correction";
    /// One state of a part of the practitioner's own atlas.
    AtlasId = "atlas part";
    /// A routine.
    RoutineId = "routine";
    /// A version of a routine.
    VersionId = "routine version";
    /// A session.
    SessionId = "session";
    /// A note or an incident.
    NoteId = "note";
    /// A plan of weeks.
    WeeksId = "plan of weeks";
    /// A home note.
    HomeNoteId = "home note";
    /// Something given to take home.
    TakehomeId = "take-home";
    /// A course.
    CourseId = "course";
    /// A text that is to be public.
    TextId = "text";
    /// A film made of a routine.
    FilmId = "film";
    /// A file of the practice's own rules.
    OwnRulesId = "file of own rules";
}
