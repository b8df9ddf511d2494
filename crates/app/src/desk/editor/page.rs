//! The editor's page: steps with seconds on the left, the face on the right, minutes on top, what must be mended between.

use cabinet::{ClientId, RoutineId};
use maud::{Markup, html};
use plan::atlas::{Atlas, TargetIx};
use plan::check::Breach;
use plan::routine::{Step, What, timeline, total_s};
use plan::screening::Clearance;
use plan::session::Memory;
use plan::solve::Outcome;
use sketch::{Ground, Options};
use vocab::{Class, Movement, Side};

use super::hand::{Hand, places, seconds as seconds_of, sides, techniques};
use super::runnable::class;
use crate::catalogue::{Catalogue, clock, fill, listed, seconds, sentence_case, text};
use crate::desk::fields::{Field, done};
use crate::desk::page::{self, Here};
use crate::desk::visitor::token;
use crate::desk::{curve, halt, routine, steps};
use crate::drawing;
use crate::tell;

/// For whom a routine is written: its name, and what may be done.
pub struct Whose {
    /// The client, if it is bound to one.
    pub client: Option<(ClientId, String)>,
    /// What may be done today; for nobody in particular, what the door opens.
    pub clearance: Clearance,
    /// The hands the client can work with on their own face, in words; none: both.
    pub one_hand: Option<&'static str>,
    /// What was felt when they were last worked with: the next draft heeds it.
    pub felt: Memory,
}

impl Whose {
    /// Whether it is for whoever listens.
    pub fn audience(&self) -> bool {
        self.client.is_none()
    }
}

/// Everything the page shows.
pub struct View<'a> {
    /// The atlas.
    pub atlas: &'a Atlas,
    /// For whom.
    pub whose: &'a Whose,
    /// Which routine, once it is kept, and its latest version.
    pub routine: Option<(RoutineId, u32)>,
    /// The version it began from, where that is not the latest.
    pub older: Option<u32>,
    /// What stands in the form.
    pub hand: &'a Hand,
    /// What the planner drafts, where it was asked.
    pub drafted: Option<Outcome>,
    /// The address' query, for what was done.
    pub query: &'a str,
}

impl View<'_> {
    fn breaches(&self) -> Vec<Breach> {
        self.hand.breaches(self.atlas, &self.whose.clearance, self.whose.audience())
    }

    fn title(&self) -> String {
        match (&self.hand.name, self.routine) {
            (name, _) if !name.is_empty() => name.clone(),
            (_, Some((id, _))) => fill("editor.unnamed", &[("n", &id)]),
            _ => text("editor.new").to_owned(),
        }
    }
}

/// The whole page.
pub fn whole(view: &View<'_>) -> Markup {
    let (hand, whose) = (view.hand, view.whose);
    let title = view.title();
    let main = html! {
        div.heading {
            div {
                h1 { (title) }
                p.lead {
                    @match &whose.client {
                        Some((id, name)) => { (text("editor.for")) " " a href={ "/clients/" (id) } { (name) } }
                        None => (text("editor.for_all")),
                    }
                }
            }
            @if let Some((id, latest)) = view.routine {
                div.act {
                    a.button href={ "/routines/" (id) "/ready" } { (text("editor.ready")) }
                    a.button href={ "/routines/" (id) "/versions" } { (fill("editor.versions", &[("n", &latest)])) }
                }
            }
        }
        (done(view.query))
        @if let Some(older) = view.older { p.gently { (fill("editor.older", &[("n", &older)])) } }
        @if let Some(hands) = whose.one_hand { p.gently { (hands) } }
        (stopped(view))
        form #editor method="post" action="/routines/edit" data-busy=(text("editor.busy")) {
            (token())
            // The first button is what the Enter key presses.
            button.unseen type="submit" name="do" value="check" tabindex="-1" { (text("editor.check")) }
            @if let Some((id, _)) = &whose.client { input type="hidden" name="client" value=(id); }
            @if let Some((id, _)) = view.routine { input type="hidden" name="routine" value=(id); }
            div.ed-top {
                (Field::text("name", text("editor.name"), &hand.name).show())
                div.field {
                    label for="ed-minutes" { (text("editor.minutes")) }
                    input #ed-minutes type="number" name="minutes" min=(plan::request::MINUTES.start()) max=(plan::request::MINUTES.end()) value=(hand.minutes) inputmode="numeric";
                }
                div #ed-total .ed-total { (total(view)) }
                button.go type="submit" name="do" value="save" { (text("editor.save")) }
            }
            (tools(view))
            div.ed-work {
                div.ed-left {
                    div #ed-verdict { (verdict(view)) }
                    div #ed-steps data-at=[hand.at] { (list(view)) }
                    (add(view))
                    (ask(view))
                }
                div #ed-picture .ed-picture { (picture(view)) }
            }
        }
        p.unseen #ed-told role="status" {}
    };
    page::whole(Here::Routines, &title, main)
}

/// What the script puts in place of what stands there.
pub fn part(view: &View<'_>) -> Markup {
    html! {
        div #ed-total { (total(view)) }
        div #ed-verdict { (verdict(view)) }
        div #ed-steps data-at=[view.hand.at] { (list(view)) }
        div #ed-picture { (picture(view)) }
        div #ed-drafted { (drafted(view)) }
    }
}

/// What stops everything today stands above it.
fn stopped(view: &View<'_>) -> Markup {
    let (atlas, clearance) = (view.atlas, &view.whose.clearance);
    let signs: Vec<_> = clearance.warning_signs.iter().map(|ix| &atlas.warning_signs[*ix]).collect();
    html! {
        @if !clearance.stop.is_empty() || !signs.is_empty() {
            div.missing role="alert" {
                p { (text(if clearance.stop.is_empty() { "editor.sign" } else { "editor.stop" })) }
                @for sign in &signs { p.plainly { strong { (tell::urgency(sign.urgency)) } " " (sign.action) } }
                @if signs.is_empty() { ul { @for rule in &clearance.stop { li { (clearance.reason(&Catalogue, atlas, &rule.id(atlas))) } } } }
            }
        } @else if !view.whose.audience() && !clearance.unanswered.is_empty() {
            p.gently {
                (fill("editor.unanswered", &[("n", &clearance.unanswered.len())]))
                @if let Some((id, _)) = &view.whose.client { " " a href={ "/clients/" (id) "/intake" } { (text("screening.begin")) } }
            }
        }
    }
}

fn total(view: &View<'_>) -> Markup {
    let total = total_s(view.atlas, &view.hand.steps);
    let most = 60 * view.hand.minutes;
    html! {
        p.ed-clock { (clock(total)) span.unit { " " (fill("editor.of_minutes", &[("minutes", &view.hand.minutes)])) } }
        p.hint {
            @if total > most { (fill("editor.over", &[("s", &seconds(total - most))])) }
            @else { (fill("editor.left", &[("s", &seconds(most - total))])) }
        }
    }
}

fn tools(view: &View<'_>) -> Markup {
    let atlas = view.atlas;
    html! {
        details.ed-tools {
            summary {
                @let names: Vec<&str> = view.hand.tools.iter().map(|t| atlas.tool(*t).name.as_str()).collect();
                (fill("editor.tools", &[("tools", &crate::catalogue::listed(&names))]))
            }
            fieldset.field {
                legend.unseen { (text("start.with")) }
                div.choices {
                    @for (ix, tool) in atlas.tools.iter().enumerate().filter(|(_, t)| t.id != plan::reading::HANDS) {
                        label.choice for={ "tool-" (tool.id) } {
                            input id={ "tool-" (tool.id) } type="checkbox" name="tool" value=(tool.id) checked[view.hand.tools.iter().any(|t| t.0 == ix)];
                            span { (sentence_case(&tool.name)) }
                        }
                    }
                }
            }
        }
    }
}

/// What must be mended, each with its smallest repair; or that nothing must.
fn verdict(view: &View<'_>) -> Markup {
    let (atlas, hand, clearance) = (view.atlas, view.hand, &view.whose.clearance);
    let breaches = view.breaches();
    let both = |i: &usize| view.whose.one_hand.is_some() && hand.steps[*i].side == Side::Both;
    let twos: Vec<usize> = (0..hand.steps.len()).filter(both).collect();
    html! {
        @if let Some(wrong) = &hand.wrong { div.missing role="alert" { p { (wrong) } } }
        (gentle(view))
        @if hand.steps.is_empty() {
            p.hint { (text("editor.empty")) }
        } @else if breaches.is_empty() && twos.is_empty() {
            p.ed-fine { (text("editor.fine")) }
        } @else if breaches.is_empty() {
            p.ed-twos {
                (text("editor.two_hands_struck")) " "
                @for i in &twos { a href={ "#step-" (i + 1) } { (fill("editor.step_n", &[("n", &(i + 1))])) } " " }
            }
        } @else {
            details.ed-breaches open {
                summary { h2 { (if breaches.len() == 1 { text("editor.one_breach").to_owned() } else { fill("editor.breaches", &[("n", &breaches.len())]) }) } }
                ol {
                    @for (n, breach) in breaches.iter().enumerate() {
                        li {
                            p {
                                @if let Some(i) = breach.step { a href={ "#step-" (i + 1) } { (fill("editor.step_n", &[("n", &(i + 1))])) } ": " }
                                (breach.message(&Catalogue, atlas, clearance, &hand.steps))
                            }
                            button.quiet type="submit" name="do" value={ "repair." (n) "." (breach.rule) } { (breach.repair_words(&Catalogue, atlas, &hand.steps)) }
                        }
                    }
                }
            }
        }
    }
}

/// What makes the work gentle, each reason once with its steps: said at every step it would be read at none.
fn gentle(view: &View<'_>) -> Markup {
    let (atlas, clearance) = (view.atlas, &view.whose.clearance);
    let mut reasons: Vec<(String, Vec<usize>)> = Vec::new();
    for (i, step) in view.hand.steps.iter().enumerate() {
        let (class, rules) = class(atlas, clearance, step);
        for rule in rules.iter().filter(|_| class == Class::Gently) {
            let said = clearance.reason(&Catalogue, atlas, &rule.id(atlas));
            match reasons.iter_mut().find(|(known, _)| *known == said) {
                Some((_, steps)) => steps.push(i + 1),
                None => reasons.push((said, vec![i + 1])),
            }
        }
    }
    let all = view.hand.steps.iter().filter(|s| matches!(s.what, What::Target(..))).count();
    html! {
        @for (reason, steps) in &reasons {
            p.gently {
                (text("editor.gently")) " "
                @if steps.len() < all { (fill("editor.at_steps", &[("steps", &crate::catalogue::listed(&steps.iter().map(ToString::to_string).collect::<Vec<_>>()))])) " " }
                (reason)
            }
        }
    }
}

fn list(view: &View<'_>) -> Markup {
    let (atlas, hand) = (view.atlas, view.hand);
    let times = timeline(atlas, &hand.steps);
    let breaches = view.breaches();
    html! {
        @if !hand.steps.is_empty() {
            h2.unseen { (text("editor.steps")) }
            ol.ed-steps {
                @for (i, step) in hand.steps.iter().enumerate() {
                    @if i == 0 || hand.steps[i - 1].movement != step.movement {
                        li.ed-movement aria-hidden="true" { (tell::movement(step.movement)) }
                    }
                    (row(view, i, step, times.get(i).map_or(0, |t| t.0), breaches.iter().any(|b| b.step == Some(i))))
                }
            }
        }
    }
}

fn row(view: &View<'_>, i: usize, step: &Step, start_s: u32, breached: bool) -> Markup {
    let (atlas, clearance) = (view.atlas, &view.whose.clearance);
    let said = tell::step(atlas, step);
    let n = i + 1;
    let (class, rules) = class(atlas, clearance, step);
    let two_hands = view.whose.one_hand.is_some() && step.side == Side::Both;
    let pattern = match class {
        _ if two_hands => "struck",
        Class::Stop | Class::LeaveOut => "struck",
        Class::AskFirst => "dashed",
        Class::Gently => "dotted",
        Class::Go => "plain",
    };
    let reasons: Vec<String> = rules.iter().map(|r| clearance.reason(&Catalogue, atlas, &r.id(atlas))).collect();
    let place = if said.side.is_empty() {
        said.place.clone()
    } else {
        fill("place.with_side", &[("place", &said.place), ("side", &said.side)])
    };
    let last = view.hand.steps.len();
    html! {
        li.ed-step.(pattern).breached[breached] id={ "step-" (n) } data-index=(i) {
            span.mark aria-hidden="true" { (drawing::mark(said.mark, step.side, step.pressure)) }
            div.ed-what {
                p.does { span.ed-n { (n) } " " strong { (sentence_case(said.does)) } " " span.place { (place) } }
                p.how { (seconds(step.seconds)) " · " (tell::pressure(step.pressure)) " · " (said.tool) span.at { " · " span.unseen { (text("step.begins")) } (clock(start_s)) } }
                @if !class.allows() {
                    p.ed-out { strong { (text(if class == Class::AskFirst { "editor.ask_first" } else { "editor.left_out" })) } " " (reasons.join(" ")) }
                }
                @if two_hands {
                    p.ed-out { strong { (text("editor.left_out")) } " " (text("editor.two_hands")) }
                    button.quiet type="submit" name="do" value={ "split." (i) } { (text("editor.split")) span.unseen { ": " (place) } }
                }
                @if let Some(caution) = said.caution { p.caution { strong { (text("step.mind")) } " " (caution) } }
                @if view.whose.audience() { @for line in tell::spoken(atlas, clearance, step) { p.hint { (text("editor.say")) " " (line) } } }
                details id={ "change-" (n) } {
                    summary { (text("editor.change")) span.unseen { ": " (place) } }
                    (fields(view, i, step))
                    div.row {
                        @if matches!(step.side, Side::Left | Side::Right) {
                            button.quiet type="submit" name="do" value={ "other." (i) } { (text("editor.other_side")) }
                        }
                        button.quiet type="submit" name="do" value={ "drop." (i) } { (text("editor.drop")) span.unseen { ": " (place) } }
                    }
                }
            }
            div.ed-move {
                button.quiet #{ "up-" (n) } type="submit" name="do" value={ "up." (i) } disabled[i == 0] { span aria-hidden="true" { "↑" } span.unseen { (fill("editor.up", &[("n", &n)])) } }
                button.quiet #{ "down-" (n) } type="submit" name="do" value={ "down." (i) } disabled[n == last] { span aria-hidden="true" { "↓" } span.unseen { (fill("editor.down", &[("n", &n)])) } }
            }
        }
    }
}

/// What can be changed at a step: only what is possible there, and what stands there now.
fn fields(view: &View<'_>, i: usize, step: &Step) -> Markup {
    let (atlas, n) = (view.atlas, i + 1);
    let movements: Vec<(String, String)> =
        Movement::ALL.iter().map(|m| (m.word().to_owned(), tell::movement(*m).to_owned())).collect();
    let (mut sides, ways, tools, pressures, lengths) = offered(atlas, step);
    if view.whose.one_hand.is_some() && step.side != Side::Both {
        sides.retain(|(word, _)| word != Side::Both.word());
    }
    html! {
        div.ed-fields {
            input type="hidden" name="target" value=(step.target_id(atlas));
            (pick("side", n, text("editor.side"), &sides, step.side.word()))
            (pick("technique", n, text("editor.technique"), &ways, step.technique_id(atlas)))
            (pick("with", n, text("editor.with"), &tools, &atlas.tool(step.tool).id))
            (pick("pressure", n, text("editor.pressure"), &pressures, step.pressure.word()))
            (pick("seconds", n, text("editor.seconds"), &lengths, &step.seconds.to_string()))
            (pick("movement", n, text("editor.movement"), &movements, step.movement.word()))
        }
    }
}

type Offer = Vec<(String, String)>;

/// Sides, techniques, tools, pressures and seconds that can be chosen at a step.
fn offered(atlas: &Atlas, step: &Step) -> (Offer, Offer, Offer, Offer, Offer) {
    let tool_row = |t: &plan::atlas::ToolIx| (atlas.tool(*t).id.clone(), sentence_case(&atlas.tool(*t).name));
    let pressure_row = |p: &vocab::Pressure| (p.word().to_owned(), sentence_case(tell::pressure(*p)));
    let seconds_row = |s: u32| (s.to_string(), seconds(s));
    let mut all = match step.what {
        What::Oil => (
            vec![(Side::Midline.word().to_owned(), text("editor.no_side").to_owned())],
            vec![(step.technique_id(atlas).to_owned(), sentence_case(text("oil.does")))],
            atlas.tool_named(plan::reading::HANDS).iter().map(tool_row).collect(),
            vec![pressure_row(&step.pressure)],
            vec![seconds_row(atlas.settings.oil_s)],
        ),
        What::Target(target, technique) => {
            let side_row = |s: &Side| (s.word().to_owned(), sentence_case(side_words(atlas, target, *s)));
            let row = atlas.technique(technique);
            let ways = techniques(atlas, target);
            (
                sides(atlas, target).iter().map(side_row).collect(),
                ways.iter()
                    .map(|t| (atlas.technique(*t).id.clone(), sentence_case(&atlas.technique(*t).name)))
                    .collect(),
                row.tools.iter().map(tool_row).collect(),
                row.pressures.iter().map(pressure_row).collect(),
                seconds_of(atlas, target, technique).into_iter().map(seconds_row).collect::<Vec<_>>(),
            )
        }
    };
    // What stands there now is always among them, so that the form says what the routine says.
    let keep = |offer: &mut Offer, row: (String, String)| {
        if !offer.iter().any(|(value, _)| *value == row.0) {
            offer.push(row);
        }
    };
    keep(&mut all.0, (step.side.word().to_owned(), sentence_case(tell::side(step.side))));
    if let What::Target(_, technique) = step.what {
        keep(&mut all.1, (atlas.technique(technique).id.clone(), sentence_case(&atlas.technique(technique).name)));
    }
    keep(&mut all.2, tool_row(&step.tool));
    keep(&mut all.3, pressure_row(&step.pressure));
    keep(&mut all.4, seconds_row(step.seconds));
    all
}

fn side_words(atlas: &Atlas, target: TargetIx, side: Side) -> &'static str {
    if sides(atlas, target).len() == 1 { text("editor.no_side") } else { tell::side(side) }
}

fn pick(name: &str, n: usize, label: &str, options: &Offer, chosen: &str) -> Markup {
    let id = format!("{name}-{n}");
    html! {
        div.field {
            label for=(id) { (label) }
            select #(id) name=(name) {
                @for (value, words) in options { option value=(value) selected[value == chosen] { (words) } }
            }
        }
    }
}

/// A place to be added.
fn add(view: &View<'_>) -> Markup {
    html! {
        fieldset.field.ed-add {
            legend { (text("editor.add_title")) }
            div.row {
                div.field hidden #place-finding {
                    label for="place-find" { (text("editor.find")) }
                    input #place-find type="search" autocomplete="off" aria-controls="place";
                }
                div.field {
                    label for="place" { (text("editor.place")) }
                    select #place name="place" {
                        option value="" { (text("editor.choose")) }
                        @for (zone, rows) in places(view.atlas) {
                            optgroup label=(zone) { @for (value, words) in &rows { option value=(value) { (words) } } }
                        }
                    }
                }
                button type="submit" name="do" value="add" { (text("editor.add")) }
            }
        }
    }
}

/// Asking the planner.
fn ask(view: &View<'_>) -> Markup {
    let atlas = view.atlas;
    html! {
        details.ed-ask open[view.drafted.is_some() || view.hand.steps.is_empty()] {
            summary { h2 { (text("editor.draft_title")) } }
            p.hint { (text("editor.draft_what")) }
            fieldset.field {
                legend { (text("start.what_for")) }
                div.choices {
                    @for (ix, concern) in atlas.concerns.iter().enumerate() {
                        label.choice for={ "concern-" (concern.id) } {
                            input id={ "concern-" (concern.id) } type="checkbox" name="concern" value=(concern.id) checked[view.hand.concerns.iter().any(|c| c.0 == ix)];
                            span { (sentence_case(&concern.name)) }
                        }
                    }
                }
            }
            @if view.whose.one_hand.is_none() {
                label.choice for="both" {
                    input #both type="checkbox" name="both" value="yes" checked[view.hand.both];
                    span { (text("start.both_hands")) }
                }
            }
            (heeded(view))
            div.act { button type="submit" name="do" value="draft" { (text("editor.draft")) } }
            div #ed-drafted { (drafted(view)) }
        }
    }
}

/// What was felt last time, and what the draft makes of it.
fn heeded(view: &View) -> Markup {
    let names = |all: &[TargetIx]| listed(&all.iter().map(|t| view.atlas.target(*t).name.as_str()).collect::<Vec<_>>());
    let felt = &view.whose.felt;
    html! {
        @if !felt.tender.is_empty() { p.hint { (fill("editor.tender_first", &[("places", &names(&felt.tender))])) } }
        @if !felt.softer.is_empty() { p.hint { (fill("editor.softer_first", &[("places", &names(&felt.softer))])) } }
    }
}

/// What the planner drafts: its gain by minutes, its steps with their reasons, what is out and why; taken over on a word.
fn drafted(view: &View<'_>) -> Markup {
    let (atlas, clearance) = (view.atlas, &view.whose.clearance);
    match &view.drafted {
        None => html! {},
        Some(Outcome::None(none)) => halt::halt(atlas, clearance, none),
        Some(Outcome::Draft(draft)) => html! {
            section.ed-draft aria-labelledby="ed-draft-title" {
                h3 #ed-draft-title { (fill("editor.drafted", &[("n", &draft.steps.len()), ("s", &seconds(draft.total_s))])) }
                (curve::curve(&draft.curve, view.hand.minutes))
                p.hint { (curve::says(&draft.curve, view.hand.minutes)) }
                div.act {
                    button type="submit" name="do" value="take" { (text("editor.take")) }
                    @if !view.hand.steps.is_empty() { p.hint { (fill("editor.take_hint", &[("n", &view.hand.steps.len())])) } }
                }
                details { summary { (text("editor.draft_steps")) } (steps::list(&steps::rows(atlas, clearance, draft))) }
                details { summary { (text("routine.left_out")) } (routine::left_out(atlas, clearance, draft)) }
            }
        },
    }
}

/// The face with every step as notation, struck where clearance strikes it.
fn picture(view: &View<'_>) -> Markup {
    let (atlas, steps) = (view.atlas, &view.hand.steps);
    if steps.is_empty() {
        return html! { (drawing::bare()) p.legend { (text("start.sheet")) } };
    }
    let two_hands = |s: &Step| view.whose.one_hand.is_some() && s.side == Side::Both;
    let class_of = |s: &Step| if two_hands(s) { Class::LeaveOut } else { class(atlas, &view.whose.clearance, s).0 };
    let classes: Vec<Class> = steps.iter().map(class_of).collect();
    let words = drawing::words(text("drawing.title"), text("drawing.desc"));
    let options = Options { ground: Ground::Page, id: "sheet", words, numerals: false };
    html! { (drawing::by_hand(atlas, steps, &classes, options)) p.legend { (text("start.sheet")) } }
}
