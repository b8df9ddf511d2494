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

    /// The colour of a part in a standalone file.
    pub(crate) fn colour(self, part: Part) -> Option<&'static str> {
        Some(match (self, part) {
            (Ground::Page, _) => return None,
            // Ink let down with water: the figure stands behind the marks. 3.4:1 on linen, 3.6:1 at night.
            (Ground::Linen, Part::Figure) => "#7A838A",
            (Ground::Night, Part::Figure) => "#7F7E79",
            (Ground::Print, Part::Figure) => "#6E6E6E",
            (Ground::Linen, Part::Thread) => "#1F5F8B",
            (Ground::Night, Part::Thread) => "#7FB4D6",
            (Ground::Linen, _) => "#1F2A33",
            (Ground::Night, _) => "#E3DFD4",
            (Ground::Print, _) => "#000000",
        })
    }

    /// Class and, in a standalone file, colour of a part.
    pub(crate) fn part(self, part: Part) -> String {
        let colour = self.colour(part).map_or(String::new(), |c| format!(" color=\"{c}\""));
        format!("class=\"{}\"{colour}", part.class())
    }
}

impl Part {
    fn class(self) -> &'static str {
        match self {
            Part::Figure => "sk-figure",
            Part::Thread => "sk-thread",
            Part::Marks => "sk-marks",
            Part::Words => "sk-words",
        }
    }

    /// Class and colour upon a photograph.
    pub(crate) fn over(self) -> String {
        let colour = if self == Part::Thread { OVER_LAMP } else { OVER_INK };
        format!("class=\"{}\" color=\"{colour}\"", self.class())
    }
}

/// Upon a photograph, whose colours no page changes: the ink and the light casing that keeps it legible on any skin.
pub(crate) const OVER_INK: &str = "#1F2A33";
/// Linen, a little lighter than the page.
pub(crate) const OVER_CASING: &str = "#F6F3EA";
/// The thread and what is chosen.
pub(crate) const OVER_LAMP: &str = "#1F5F8B";

/// Rules for a page's style sheet. The page sets `--ground`, `--ink`, `--lamp` and `--wash` (ink let down with water) for its light
/// and night; without them the text colour serves. The last rules are for [`crate::stage`]'s script.
pub const CSS: &str = "\
.sk{display:block;width:100%;height:auto}
.sk-figure{color:var(--wash,currentColor)}
.sk-marks,.sk-words{color:var(--ink,currentColor)}
.sk-thread{color:var(--lamp,currentColor)}
.sk-ground{fill:var(--ground,Canvas)}
.sk-word,.sk-numeral,.sk-label{font-family:inherit}
.sk-label{stroke:var(--ground,Canvas);paint-order:stroke}.sk-over .sk-label{stroke:#F6F3EA}
.sk-place .sk-reach{pointer-events:all;cursor:pointer}
.sk-place:hover .sk-ring,.sk-place.sk-chosen .sk-ring{color:var(--lamp,currentColor)}
.sk-place.sk-chosen{color:var(--lamp,currentColor)}
.sk.sk-true{width:190mm;height:255mm;max-width:none}
.sk-over .sk-marks,.sk-over .sk-words{color:#1F2A33}
.sk-over .sk-casing{color:#F6F3EA}
.sk-over .sk-thread,.sk-over .sk-lit,.sk-over .sk-place.sk-chosen,.sk-over .sk-place:hover .sk-ring{color:#1F5F8B}
.sk-handle{cursor:grab;touch-action:none}
.sk-handle:focus{outline:none}
.sk-handle:focus-visible .sk-grip,.sk-handle.sk-held .sk-grip{stroke-width:5px}
.sk-lit{color:var(--lamp,currentColor)}
.sk-dim .sk-step:not(.sk-lit){opacity:.35}
.sk-stage .sk-step{visibility:hidden}
.sk-stage .sk-now{visibility:visible}
.sk-stage .sk-next{visibility:visible;opacity:.28}
.sk-stage[data-shows=front] .sk-back,.sk-stage[data-shows=back] .sk-front{visibility:hidden}
@media (max-width:520px){.sk-sheet .sk-word,.sk-map .sk-word{font-size:22px}.sk-over .sk-word{font-size:27px}.sk-back .sk-word{font-size:36px}}
@media print{.sk-ground{fill:#fff}.sk-figure{color:#6e6e6e}.sk-marks,.sk-words,.sk-thread,.sk-place.sk-chosen{color:#000}\
.sk-over .sk-marks,.sk-over .sk-words,.sk-over .sk-thread,.sk-over .sk-place.sk-chosen{color:#000}.sk-handle{display:none}}
";
