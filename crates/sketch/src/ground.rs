//! On what the drawing lies, and the colours of its parts.

/// On what the drawing lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// In a page: no colours of its own, classes for the page's style sheet ([`CSS`]).
    Page,
    /// A file of its own on linen.
    Linen,
    /// A file of its own in the dark of the treatment room.
    Night,
    /// A file of its own in black on white.
    Print,
}

/// The parts that may differ in colour; never the only difference between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    Figure,
    Thread,
    Marks,
    Words,
}

impl Ground {
    /// The colour behind a standalone file.
    pub(crate) fn behind(self) -> Option<&'static str> {
        match self {
            Ground::Page => None,
            Ground::Linen => Some("#EDF0EE"),
            Ground::Night => Some("#12161A"),
            Ground::Print => Some("#FFFFFF"),
        }
    }

    /// Class and, in a standalone file, colour of a part.
    pub(crate) fn part(self, part: Part) -> String {
        let class = match part {
            Part::Figure => "sk-figure",
            Part::Thread => "sk-thread",
            Part::Marks => "sk-marks",
            Part::Words => "sk-words",
        };
        let colour = match (self, part) {
            (Ground::Page, _) => return format!("class=\"{class}\""),
            // Ink let down with water: the figure stands behind the marks. 3.4:1 on linen, 3.6:1 at night.
            (Ground::Linen, Part::Figure) => "#7A838A",
            (Ground::Night, Part::Figure) => "#7F7E79",
            (Ground::Print, Part::Figure) => "#6E6E6E",
            (Ground::Linen, Part::Thread) => "#1F5F8B",
            (Ground::Night, Part::Thread) => "#7FB4D6",
            (Ground::Linen, _) => "#1F2A33",
            (Ground::Night, _) => "#E3DFD4",
            (Ground::Print, _) => "#000000",
        };
        format!("class=\"{class}\" color=\"{colour}\"")
    }
}

/// Rules for a page's style sheet. The page sets `--ground`, `--ink`, `--lamp` and `--wash` (ink let down with water) for its light
/// and night; without them the text colour serves. The last rules are for [`crate::stage`]'s script.
pub const CSS: &str = "\
.sk{display:block;width:100%;height:auto}
.sk-figure{color:var(--wash,currentColor)}
.sk-marks,.sk-words{color:var(--ink,currentColor)}
.sk-thread{color:var(--lamp,currentColor)}
.sk-ground{fill:var(--ground,Canvas)}
.sk-word,.sk-numeral{font-family:inherit}
.sk-lit{color:var(--lamp,currentColor)}
.sk-dim .sk-step:not(.sk-lit){opacity:.35}
.sk-stage .sk-step{visibility:hidden}
.sk-stage .sk-now{visibility:visible}
.sk-stage .sk-next{visibility:visible;opacity:.28}
.sk-stage[data-shows=front] .sk-back,.sk-stage[data-shows=back] .sk-front{visibility:hidden}
@media (max-width:520px){.sk-sheet .sk-word{font-size:22px}.sk-back .sk-word{font-size:36px}}
@media print{.sk-ground{fill:#fff}.sk-figure{color:#6e6e6e}.sk-marks,.sk-words,.sk-thread{color:#000}}
";
