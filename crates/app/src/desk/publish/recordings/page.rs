//! The page: captions brought or pasted; then the steps that were heard, each to be corrected, and what else was heard.

use maud::{Markup, html};
use plan::atlas::{Atlas, TargetIx};
use plan::check;
use plan::reading::STEP_SECONDS;
use plan::routine::Step;
use plan::screening::Clearance;
use publish::claims::Claim;
use publish::recordings::{Recording, Said};
use vocab::Side;

use super::super::found::{More, found, notice};
use super::super::standing::Standing;
use super::super::texts::most;
use super::Brought;
use super::rows::{Row, marked, sures, workable};
use crate::catalogue::{fill, listed, lower_first, seconds, sentence_case, text};
use crate::desk::fields::{Field, lines};
use crate::desk::page::{Here, whole};
use crate::desk::visitor::token;
use crate::json::check::Row as Told;
use crate::recorded::{Recorded, for_all};
use crate::tell;
use crate::tell::recorded::{at, pattern, sure, unsure};

/// Everything the page shows.
pub struct Page<'p> {
    /// What was brought.
    pub brought: &'p Brought,
    /// What is wrong.
    pub wrong: &'p [String],
    /// What was heard.
    pub result: Option<&'p Result<'p>>,
}

/// What was heard.
pub struct Result<'p> {
    /// The atlas.
    pub atlas: &'p Atlas,
    /// The recording; none where its captions can't be read as they stand now, and the steps are those of before.
    pub recorded: Option<&'p Recorded>,
    /// The steps, perhaps corrected.
    pub rows: &'p [Row],
    /// What it claims.
    pub claims: &'p [Claim],
    /// By which rules.
    pub standing: &'p Standing,
}

impl Page<'_> {
    /// The whole page.
    pub fn show(&self) -> Markup {
        let main = html! {
            div.narrow {
                h1 { (text("recordings.title")) }
                @if self.result.is_none() { p.lead { (text("recordings.lead")) } }
                @if self.result.is_none() { p.hint { (text("recordings.english")) } }
                @if !self.wrong.is_empty() {
                    div.missing role="alert" { @for why in self.wrong { p { (why) } } }
                }
            }
            form #recording method="post" action="/publish/recordings" enctype="multipart/form-data" {
                (token())
                input type="hidden" name="named" value=(self.brought.file);
                @match self.result {
                    None => div.narrow { (self.bring()) },
                    Some(result) => {
                        // The first button is what the Enter key presses.
                        button.unseen type="submit" name="do" value="check" tabindex="-1" { (text("recordings.check")) }
                        (self.heard(result))
                    },
                }
            }
            @if let Some(result) = self.result { (beside(result)) }
        };
        whole(Here::Recordings, text("recordings.title"), main)
    }

    /// Where captions are brought.
    fn bring(&self) -> Markup {
        html! {
            div.field {
                label for="file" { (text("recordings.file")) }
                input #file type="file" name="file" accept=".vtt,.srt,.txt,.sbv,text/vtt,text/plain" aria-describedby="file-hint";
                p.hint #file-hint { (text("recordings.file_hint")) }
            }
            (lines("words", text("recordings.pasted"), &self.brought.words, 8, Some(&fill("recordings.pasted_hint", &[("most", &most())]))))
            div.act { button.go type="submit" name="do" value="read" { (text("recordings.read")) } }
        }
    }

    /// The steps that were heard.
    fn heard(&self, result: &Result<'_>) -> Markup {
        let n = result.rows.len();
        html! {
            div.narrow {
                p.lead role="status" { (if n == 1 { text("recordings.found_one").to_owned() } else { fill("recordings.found", &[("n", &n)]) }) " " (text("recordings.rest")) }
                (Field::text("name", text("recordings.name"), &self.brought.name).show())
                div.act {
                    button.go type="submit" name="do" value="edit" { (text("recordings.go")) }
                    button type="submit" name="do" value="check" { (text("recordings.check")) }
                }
                p.hint { (text("recordings.go_hint")) }
            }
            table.heard {
                caption.unseen { (text("recordings.table")) }
                thead { tr {
                    th scope="col" { (text("recordings.n")) }
                    th scope="col" { (text("recordings.when")) }
                    th scope="col" { (text("recordings.heard")) }
                    th scope="col" { (text("recordings.understood")) }
                    th scope="col" { (text("recordings.how_sure")) }
                    th scope="col" { (text("recordings.correct")) }
                } }
                tbody { @for (i, row) in result.rows.iter().enumerate() { (self::row(result.atlas, i + 1, row)) } }
            }
            div.act { button type="submit" name="do" value="check" { (text("recordings.check")) } }
            details.captions open[result.recorded.is_none()] {
                summary { (text("recordings.captions")) @if !self.brought.file.is_empty() { ": " (self.brought.file) } }
                (lines("words", text("recordings.captions"), &self.brought.words, 10, Some(text("recordings.again_hint"))))
                div.act { button type="submit" name="do" value="read" { (text("recordings.again")) } }
            }
        }
    }
}

fn row(atlas: &Atlas, n: usize, row: &Row) -> Markup {
    let said = tell::step(atlas, &row.step);
    let by_hand = row.sure.is_none();
    let also: Vec<&str> = row.also.iter().map(|t| atlas.target(*t).name.as_str()).collect();
    html! {
        tr.{ "is-" (pattern(row.confidence)) }.out[row.out] #{ "step-" (n) } {
            th scope="row" { (n) }
            td.when { span.label aria-hidden="true" { (text("recordings.when")) } (at(row.time)) }
            td.words { q { (row.heard) } }
            td.understood {
                strong { (said.place) } @if !said.side.is_empty() { ", " (said.side) }
                br;
                (sentence_case(said.does)) " · " (seconds(row.step.seconds)) " · " (said.tool)
            }
            td.how-sure {
                span.word { (if by_hand { text("recordings.corrected") } else { sure(row.confidence) }) }
                @if let Some(parts) = &row.sure { @for why in unsure(parts) { br; span.why { (why) } } }
                @if !also.is_empty() && row.sure.is_some_and(|s| s.target < 0.9) { br; span.why { (fill("recordings.also", &[("places", &listed(&also))])) } }
            }
            td.mend { (correct(atlas, n, row)) }
        }
    }
}

/// What can be corrected at a step.
fn correct(atlas: &Atlas, n: usize, row: &Row) -> Markup {
    let step = &row.step;
    let target = atlas.target_named(step.target_id(atlas));
    let sides = [Side::Left, Side::Right, Side::Both, Side::Midline];
    html! {
        details {
            summary { (text("recordings.correct")) span.unseen { ": " (fill("recordings.correct_n", &[("n", &n)])) } }
            div.rec-fields {
                input type="hidden" name="was" value=(marked(atlas, step));
                input type="hidden" name="time" value=(row.time.map_or_else(String::new, |t| format!("{t:.2}")));
                input type="hidden" name="heard" value=(row.heard);
                input type="hidden" name="sure" value=(sures(row));
                input type="hidden" name="with" value=(atlas.tool(step.tool).id);
                input type="hidden" name="pressure" value=(step.pressure.word());
                div.field {
                    label for={ "target-" (n) } { (text("recordings.place")) }
                    select #{ "target-" (n) } name="target" { (targets(atlas, target)) }
                }
                div.field {
                    label for={ "side-" (n) } { (text("recordings.side")) }
                    select #{ "side-" (n) } name="side" { @for side in sides { option value=(side.word()) selected[side == step.side] { (sentence_case(tell::side(side))) } } }
                }
                div.field {
                    label for={ "technique-" (n) } { (text("recordings.technique")) }
                    select #{ "technique-" (n) } name="technique" {
                        @for technique in &atlas.techniques { option value=(technique.id) selected[technique.id == step.technique_id(atlas)] { (sentence_case(&technique.name)) } }
                    }
                }
                div.field {
                    label for={ "seconds-" (n) } { (text("recordings.seconds")) }
                    input #{ "seconds-" (n) } type="number" inputmode="numeric" name="seconds" min=(STEP_SECONDS.start()) max=(STEP_SECONDS.end()) value=(step.seconds);
                }
                label.choice for={ "out-" (n) } {
                    input #{ "out-" (n) } type="checkbox" name="out" value=(n) checked[row.out];
                    span { (text("recordings.leave_out")) }
                }
            }
        }
    }
}

/// Every place, by its zone; one that is not for the hand only where it was heard.
fn targets(atlas: &Atlas, chosen: Option<TargetIx>) -> Markup {
    html! {
        @for (z, zone) in atlas.zones.iter().enumerate() {
            optgroup label=(sentence_case(&zone.name)) {
                @for (t, target) in atlas.targets.iter().enumerate().filter(|(_, t)| t.zone.0 == z) {
                    @if workable(atlas, TargetIx(t)) || chosen == Some(TargetIx(t)) {
                        option value=(target.id) selected[chosen == Some(TargetIx(t))] { (sentence_case(&target.name)) }
                    }
                }
            }
        }
    }
}

/// What must be mended; then, of a recording that can be read, what to mind, what was not understood, what is claimed.
fn beside(result: &Result<'_>) -> Markup {
    let clearance = Clearance::audience(result.atlas);
    let steps: Vec<Step> = result.rows.iter().filter(|r| !r.out).map(|r| r.step.clone()).collect();
    let numbers: Vec<usize> = result.rows.iter().enumerate().filter(|(_, r)| !r.out).map(|(i, _)| i + 1).collect();
    let routine = for_all(result.atlas, steps);
    let breaches = check::check(result.atlas, &routine, &clearance);
    let rows = Told::all(result.atlas, &clearance, &routine, &breaches);
    html! {
        section.part.narrow aria-labelledby="mend-title" {
            h2 #mend-title { (text("recordings.breaches")) }
            @if rows.is_empty() { p { (text("recordings.nothing_to_mend")) } } @else {
                p.hint { (text("recordings.breaches_hint")) }
                ol.mends { @for row in &rows {
                    @let n = row.step_number().and_then(|n| numbers.get(n - 1));
                    li {
                        @if let Some(n) = n { a href={ "#step-" (n) } { (fill("editor.step_n", &[("n", n)])) } ": " }
                        (row.message) " " strong { (text("check.repair")) } " " (lower_first(&row.repair))
                    }
                } }
            }
        }
        @if let Some(recorded) = result.recorded { (also_heard(result, &recorded.recording)) }
    }
}

fn also_heard(result: &Result<'_>, recording: &Recording) -> Markup {
    html! {
        section.part.narrow aria-labelledby="cautions-title" {
            h2 #cautions-title { (text("recordings.cautions")) }
            @if recording.cautions.is_empty() { p { (text("recordings.no_cautions")) } } @else {
                p.hint { (text("recordings.cautions_hint")) }
                (said(&recording.cautions))
            }
        }
        @if !recording.not_understood.is_empty() {
            section.part.narrow aria-labelledby="unknown-title" {
                h2 #unknown-title { (text("recordings.unknown")) }
                p.hint { (text("recordings.unknown_hint")) }
                (said(&recording.not_understood))
            }
        }
        section.part.narrow aria-labelledby="claims-title" {
            h2 #claims-title { (text("recordings.claims")) }
            (notice())
            (found(result.claims, result.standing, &More::default()))
        }
    }
}

fn said(all: &[Said]) -> Markup {
    html! {
        ul.rec-said { @for said in all { li { @if said.time.is_some() { span.at-time { (at(said.time)) } " " } q { (said.words) } } } }
    }
}
