//! The fields of own points, lines, techniques, tools and products: what is asked, in which words, and how it is shown.

use maud::{Markup, html};
use plan::atlas::Atlas;
use vocab::Sides;

use super::super::map_routes::value;
use super::own::{Part, Row, pressures, pupils};
use crate::catalogue::{sentence_case, text};
use crate::drawing;

/// From what a field is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum From {
    Sides,
    Zones,
    Techniques,
    Tools,
    Pressures,
    Marks,
}

/// What a field takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A line of text.
    Text,
    /// Longer text.
    Long,
    /// One thing on each line.
    Lines,
    /// A whole number, from and to.
    Whole(i64, i64),
    /// A number in millimetres.
    Decimal,
    /// One of several.
    One(From),
    /// Up to so many of several.
    Several(From, usize),
    /// Yes or no.
    Flag,
}

/// A field.
pub struct Spec {
    /// Its name in the form and in the file.
    pub key: &'static str,
    label: &'static str,
    hint: Option<&'static str>,
    /// What it takes.
    pub kind: Kind,
    /// Whether it has to be filled in.
    pub needed: bool,
}

const fn field(key: &'static str, label: &'static str, kind: Kind) -> Spec {
    Spec { key, label, hint: None, kind, needed: true }
}

const fn hinted(key: &'static str, label: &'static str, kind: Kind, hint: &'static str) -> Spec {
    Spec { key, label, hint: Some(hint), kind, needed: true }
}

const fn may(spec: Spec) -> Spec {
    Spec { needed: false, ..spec }
}

const NAME: Spec = field("name", "ownmap.name", Kind::Text);
const SOURCE: Spec = hinted("source", "ownmap.source", Kind::Text, "ownmap.source_hint");
const CAUTION: Spec = may(field("caution", "ownmap.caution", Kind::Text));
const FIND: Spec = hinted("find", "ownmap.find", Kind::Long, "ownmap.find_hint");
const ZONE: Spec = hinted("zone", "ownmap.zone", Kind::One(From::Zones), "ownmap.zone_hint");
const SIDES: Spec = field("sides", "ownmap.sides", Kind::One(From::Sides));
const PRESSURE: Spec = hinted("pressure", "ownmap.pressure", Kind::One(From::Pressures), "ownmap.pressure_hint");
const WORKED: Spec = hinted("techniques", "ownmap.worked", Kind::Several(From::Techniques, 3), "ownmap.three");

const POINTS: &[Spec] = &[
    NAME,
    SIDES,
    ZONE,
    FIND,
    may(hinted("mm_across", "ownmap.mm_across", Kind::Decimal, "ownmap.mm_across_hint")),
    may(hinted("mm_up", "ownmap.mm_up", Kind::Decimal, "ownmap.mm_up_hint")),
    may(hinted("rule_across", "ownmap.rule_across", Kind::Text, "ownmap.rule_hint")),
    may(hinted("rule_up", "ownmap.rule_up", Kind::Text, "ownmap.rule_up_hint")),
    hinted("rule", "ownmap.rule", Kind::Text, "ownmap.rule_words_hint"),
    WORKED,
    PRESSURE,
    CAUTION,
    SOURCE,
];

const LINES: &[Spec] = &[
    NAME,
    SIDES,
    ZONE,
    hinted("crosses", "ownmap.crosses", Kind::Several(From::Zones, 12), "ownmap.crosses_hint"),
    hinted("direction", "ownmap.direction", Kind::Text, "ownmap.direction_hint"),
    FIND,
    may(hinted("dwell", "ownmap.dwell", Kind::Lines, "ownmap.each_line")),
    WORKED,
    PRESSURE,
    field("lap_s", "ownmap.lap_s", Kind::Whole(2, 60)),
    field("most_laps", "ownmap.most_laps", Kind::Whole(1, 10)),
    CAUTION,
    SOURCE,
];

const TECHNIQUES: &[Spec] = &[
    NAME,
    hinted("like", "ownmap.like_technique", Kind::One(From::Techniques), "ownmap.like_hint"),
    hinted("says", "ownmap.says", Kind::Long, "ownmap.says_hint"),
    field("direction", "ownmap.way", Kind::Text),
    field("mark", "ownmap.mark", Kind::One(From::Marks)),
    hinted("tools", "ownmap.with", Kind::Several(From::Tools, 3), "ownmap.three"),
    field("pressures", "ownmap.pressures", Kind::Several(From::Pressures, 3)),
    field("min_s", "ownmap.min_s", Kind::Whole(5, 300)),
    hinted("max_s", "ownmap.max_s", Kind::Whole(5, 300), "ownmap.max_s_hint"),
    may(field("two_hands", "ownmap.two_hands", Kind::Flag)),
    may(field("support", "ownmap.support", Kind::Text)),
    may(field("other_hand", "ownmap.other_hand", Kind::Text)),
    may(hinted("never", "ownmap.never", Kind::Lines, "ownmap.each_line")),
    SOURCE,
];

const TOOLS: &[Spec] = &[
    NAME,
    hinted("like", "ownmap.like_tool", Kind::One(From::Tools), "ownmap.like_hint"),
    hinted("contact_mm2", "ownmap.contact", Kind::Whole(10, 10_000), "ownmap.contact_hint"),
    field("care", "ownmap.care", Kind::Long),
    hinted("grams_featherlight", "ownmap.grams_featherlight", Kind::Whole(1, 5000), "ownmap.grams_hint"),
    field("grams_light", "ownmap.grams_light", Kind::Whole(1, 5000)),
    field("grams_firm", "ownmap.grams_firm", Kind::Whole(1, 5000)),
    SOURCE,
];

const PRODUCTS: &[Spec] = &[
    NAME,
    hinted("ingredients", "ownmap.ingredients", Kind::Long, "ownmap.ingredients_hint"),
    may(field("note", "ownmap.note", Kind::Long)),
];

/// The fields of a part, in the order in which they are asked.
pub fn specs(part: Part) -> &'static [Spec] {
    match part {
        Part::Points => POINTS,
        Part::Lines => LINES,
        Part::Techniques => TECHNIQUES,
        Part::Tools => TOOLS,
        Part::Products => PRODUCTS,
    }
}

/// What a form says of a row.
pub fn typed(part: Part, id: &str, form: &[u8]) -> Row {
    let mut row = Row { id: id.to_owned(), ..Row::default() };
    let clean = |s: &str| s.trim().replace("\r\n", "\n");
    for spec in specs(part) {
        let values: Vec<String> = match spec.kind {
            Kind::Several(..) => {
                form_urlencoded::parse(form).filter(|(n, _)| n == spec.key).map(|(_, v)| clean(&v)).collect()
            }
            Kind::Lines => value(form, spec.key).unwrap_or_default().lines().map(clean).collect(),
            _ => vec![clean(&value(form, spec.key).unwrap_or_default())],
        };
        let values: Vec<String> = values.into_iter().filter(|v| !v.is_empty()).collect();
        if !values.is_empty() {
            row.values.insert(spec.key, values);
        }
    }
    row
}

/// What can be chosen: value and words.
fn options(from: From, atlas: &Atlas) -> Vec<(String, String)> {
    let pair = |id: &str, name: &str| (id.to_owned(), sentence_case(name));
    match from {
        From::Sides => vec![
            (Sides::Lateral.word().to_owned(), text("ownmap.both_sides").to_owned()),
            (Sides::Midline.word().to_owned(), text("ownmap.midline").to_owned()),
        ],
        From::Zones => atlas.zones.iter().map(|z| pair(&z.id, &z.name)).collect(),
        From::Techniques => atlas.techniques.iter().map(|t| pair(&t.id, &t.name)).collect(),
        From::Tools => atlas.tools.iter().map(|t| pair(&t.id, &t.name)).collect(),
        From::Pressures => pressures().into_iter().map(|(id, name)| pair(&id, &name)).collect(),
        From::Marks => [
            ("stroke", "ownmap.mark_stroke"),
            ("hold", "ownmap.mark_hold"),
            ("circles", "ownmap.mark_circles"),
            ("press", "ownmap.mark_press"),
            ("to_and_fro", "ownmap.mark_to_and_fro"),
            ("palm", "ownmap.mark_palm"),
            ("pinch", "ownmap.mark_pinch"),
        ]
        .map(|(id, key)| (id.to_owned(), text(key).to_owned()))
        .into(),
    }
}

/// The fields of a form, with what is wrong at each. `known`: what can be chosen from; `base`: what can be named as alike.
pub fn fields(part: Part, row: &Row, known: &Atlas, base: &Atlas, wrong: &[(&'static str, String)]) -> Markup {
    html! {
        @for spec in specs(part) {
            @let said: Vec<&String> = wrong.iter().filter(|(key, _)| *key == spec.key).map(|(_, said)| said).collect();
            @let atlas = if spec.key == "like" { base } else { known };
            (one(spec, row, atlas, &said))
            @if spec.key == "find" && part == Part::Points { (face()) }
        }
    }
}

/// The drawn face to be tapped. By keyboard and without script the two numbers below it say the same.
fn face() -> Markup {
    html! {
        div.tap-face data-pupils=(format!("{:.2}", pupils())) {
            h2 { (text("ownmap.place")) }
            p.hint #tap-hint { (text("ownmap.place_hint")) }
            div.tap { (drawing::bare()) }
            p.unseen #tap-told role="status" data-told=(text("ownmap.tapped")) {}
        }
    }
}

fn one(spec: &Spec, row: &Row, atlas: &Atlas, wrong: &[&String]) -> Markup {
    let (hint_id, wrong_id) = (format!("{}-hint", spec.key), format!("{}-wrong", spec.key));
    let mut described = Vec::new();
    if !wrong.is_empty() {
        described.push(wrong_id.as_str());
    }
    if spec.hint.is_some() {
        described.push(hint_id.as_str());
    }
    let described = (!described.is_empty()).then(|| described.join(" "));
    let invalid = (!wrong.is_empty()).then_some("true");
    let label = html! { (text(spec.label)) @if !spec.needed { span.hint { " " (text("ownmap.may")) } } };
    let below = html! {
        @if !wrong.is_empty() { p.field-wrong #(wrong_id) { @for said in wrong { (said) " " } } }
        @if let Some(hint) = spec.hint { p.hint #(hint_id) { (text(hint)) } }
    };
    match spec.kind {
        Kind::Several(from, _) => html! {
            fieldset.field aria-describedby=[described] {
                legend { (label) }
                (below)
                div.several {
                    @for (value, words) in options(from, atlas) {
                        @let id = format!("{}-{value}", spec.key);
                        label.choice for=(id) {
                            input #(id) type="checkbox" name=(spec.key) value=(value) checked[row.all(spec.key).contains(&value)];
                            span { (words) }
                        }
                    }
                }
            }
        },
        Kind::Flag => html! {
            div.field {
                label.choice for=(spec.key) {
                    input #(spec.key) type="checkbox" name=(spec.key) value="yes" checked[!row.one(spec.key).is_empty()];
                    span { (label) }
                }
                (below)
            }
        },
        _ => html! {
            div.field {
                label for=(spec.key) { (label) }
                @match spec.kind {
                    Kind::One(from) => select #(spec.key) name=(spec.key) aria-describedby=[described] aria-invalid=[invalid] {
                        option value="" { (text("ownmap.choose")) }
                        @for (value, words) in options(from, atlas) {
                            option value=(value) selected[row.one(spec.key) == value] { (words) }
                        }
                    },
                    Kind::Long | Kind::Lines => textarea #(spec.key) name=(spec.key) rows="3" aria-describedby=[described] aria-invalid=[invalid] {
                        "\n" (row.all(spec.key).join("\n"))
                    },
                    _ => input #(spec.key) type="text" name=(spec.key) value=(row.one(spec.key)) autocomplete="off"
                        inputmode=[matches!(spec.kind, Kind::Whole(..) | Kind::Decimal).then_some("decimal")]
                        aria-describedby=[described] aria-invalid=[invalid];,
                }
                (below)
            }
        },
    }
}
