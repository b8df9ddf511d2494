//! From where each step is filmed: the rules stand in `data/words/angles.toml`.

use std::sync::OnceLock;

use plan::atlas::{Atlas, Kind};
use plan::reading::HANDS;
use plan::routine::{Step, What};
use publish::script::{Line, Part, Shot, ShotOf, Take, merged};
use vocab::read::Document;
use vocab::{Finding, Side};

use super::options::On;
use super::words;
use crate::catalogue::{fill, text};
use crate::tell;

const FILE: (&str, &str) = ("words/angles.toml", include_str!("../../../../data/words/angles.toml"));

/// From where the camera looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Angle {
    Front,
    ThreeQuarter,
    Profile,
    Back,
    Above,
}

/// From where the hand comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Hand {
    Below,
    Outside,
    Behind,
    Above,
    Across,
}

/// What must be free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Free {
    Hair,
    Collar,
    Ear,
    Lids,
}

/// How the places of these zones are filmed.
#[derive(Clone, Debug)]
struct Rule {
    zones: Vec<String>,
    angle: Angle,
    close: bool,
    hand: Hand,
    shows: Vec<Free>,
}

const ANGLES: &[(&str, Angle)] = &[
    ("front", Angle::Front),
    ("three_quarter", Angle::ThreeQuarter),
    ("profile", Angle::Profile),
    ("back", Angle::Back),
    ("above", Angle::Above),
];
const HANDS_FROM: &[(&str, Hand)] = &[
    ("below", Hand::Below),
    ("outside", Hand::Outside),
    ("behind", Hand::Behind),
    ("above", Hand::Above),
    ("across", Hand::Across),
];
const FREE: &[(&str, Free)] =
    &[("hair", Free::Hair), ("collar", Free::Collar), ("ear", Free::Ear), ("lids", Free::Lids)];

fn load(file: (&str, &str)) -> Result<Vec<Rule>, Vec<Finding>> {
    let document = Document::parse(file.0, file.1)?;
    let mut rules = Vec::new();
    let root = document.root();
    root.need_text("source");
    for row in root.tables("angle") {
        let zones: Vec<String> = row.words("zones").into_iter().map(|w| w.text).collect();
        let (angle, hand) = (row.need_choice("angle", ANGLES), row.need_choice("hand", HANDS_FROM));
        let close = row.flag("close").unwrap_or_default();
        let mut shows = Vec::new();
        for word in row.words("shows") {
            match FREE.iter().find(|(known, _)| *known == word.text) {
                Some((_, free)) => shows.push(*free),
                None => row.unknown_word("shows", &word, FREE.iter().map(|(known, _)| *known)),
            }
        }
        if zones.is_empty() {
            row.note("an angle needs at least one zone");
        }
        row.finish();
        if let (Some(angle), Some(hand)) = (angle, hand) {
            rules.push(Rule { zones, angle, close, hand, shows });
        }
    }
    root.finish();
    let findings = document.into_findings();
    if findings.is_empty() { Ok(rules) } else { Err(findings) }
}

/// The shipped rules; a test reads them.
fn rules() -> &'static [Rule] {
    static RULES: OnceLock<Vec<Rule>> = OnceLock::new();
    RULES.get_or_init(|| load(FILE).unwrap_or_default())
}

fn rule(atlas: &Atlas, step: &Step) -> Rule {
    let usual =
        Rule { zones: Vec::new(), angle: Angle::Front, close: false, hand: Hand::Outside, shows: vec![Free::Hair] };
    let Some(zone) = step.zone(atlas).map(|z| atlas.zone(z).id.as_str()) else { return usual };
    rules().iter().find(|r| r.zones.iter().any(|z| z == zone)).cloned().unwrap_or(usual)
}

/// The name of a step's still picture, without what kind of file it is.
pub fn still(atlas: &Atlas, at: usize, step: &Step) -> String {
    let target = step.target_id(atlas).to_lowercase().replace(|c: char| !c.is_ascii_alphanumeric(), "-");
    match step.side {
        Side::Midline => format!("step-{:02}-{target}", at + 1),
        side => format!("step-{:02}-{target}-{}", at + 1, side.word()),
    }
}

/// Where a side is on the picture.
fn screen(side: Side, mirrored: bool) -> &'static str {
    match (side, mirrored) {
        (Side::Left, false) | (Side::Right, true) => text("shot.screen_right"),
        (Side::Right, false) | (Side::Left, true) => text("shot.screen_left"),
        (Side::Midline, _) => text("shot.screen_middle"),
        (Side::Both, _) => text("shot.screen_both"),
    }
}

fn shot_of(atlas: &Atlas, at: usize, step: &Step, on: On) -> ShotOf {
    let (rule, said) = (rule(atlas, step), tell::step(atlas, step));
    let side = words::side(step, on, said.side);
    let one_side = matches!(step.side, Side::Left | Side::Right);
    let cheek = if one_side { side } else { text("shot.either") };
    let angle = match rule.angle {
        Angle::ThreeQuarter | Angle::Profile if !one_side => text("shot.front").to_owned(),
        Angle::Front => text("shot.front").to_owned(),
        Angle::ThreeQuarter => fill("shot.three_quarter", &[("cheek", &cheek)]),
        Angle::Profile => fill("shot.profile", &[("cheek", &cheek)]),
        Angle::Back => text("shot.back").to_owned(),
        Angle::Above => text("shot.above").to_owned(),
    };
    let point = matches!(step.what, What::Target(t, _) if atlas.target(t).kind == Kind::Point);
    let angle = if rule.close && point { fill("shot.close", &[("angle", &angle)]) } else { angle };
    let hand = match rule.hand {
        Hand::Below => "shot.hand_below",
        Hand::Outside => "shot.hand_outside",
        Hand::Behind => "shot.hand_behind",
        Hand::Above => "shot.hand_above",
        Hand::Across => "shot.hand_across",
    };
    let mut shows = vec![text("shot.place").to_owned(), text("shot.light").to_owned()];
    shows.extend(rule.shows.iter().map(|free| {
        let key = match free {
            Free::Hair => "shot.hair",
            Free::Collar => "shot.collar",
            Free::Ear => "shot.ear",
            Free::Lids => "shot.lids",
        };
        text(key).to_owned()
    }));
    if atlas.tool(step.tool).id != HANDS {
        shows.push(fill("shot.tool", &[("tool", &said.tool)]));
    }
    let place = match step.what {
        What::Target(target, _) => atlas.target(target).name.clone(),
        What::Oil => said.place.clone(),
    };
    let place = if side.is_empty() { place } else { fill("place.with_side", &[("place", &place), ("side", &side)]) };
    // From behind, a camera that does not mirror shows own left on the left.
    let seen = |mirrored: bool| screen(step.side, mirrored != (rule.angle == Angle::Back)).to_owned();
    let unsided = step.what == What::Oil;
    ShotOf {
        angle,
        screen: if unsided { String::new() } else { seen(false) },
        mirrored: if unsided { String::new() } else { seen(true) },
        hand: text(hand).to_owned(),
        shows,
        step: format!("{} {place}", at + 1),
        still: still(atlas, at, step),
    }
}

/// The shots of a take: the opening words, the steps from where the hand left the one before, the closing words.
pub fn shots(atlas: &Atlas, steps: &[Step], take: &Take, on: On) -> Vec<Shot> {
    let words = take.lines.iter().find(|l| l.act == Some(0)).map_or(f64::INFINITY, |l| l.from);
    let mut begins: Vec<f64> = vec![take.acts.first().map_or(0.0, |a| a.from).min(words)];
    // The hand is seen until it leaves, whatever is said meanwhile.
    begins.extend(take.acts.iter().take(take.acts.len().saturating_sub(1)).map(|a| a.to));
    begins.push(take.acts.last().map_or(0.0, |a| a.to));
    let of: Vec<ShotOf> = steps.iter().enumerate().map(|(at, step)| shot_of(atlas, at, step, on)).collect();
    let talk = |from: f64, to: f64, what: &'static str| Shot {
        from,
        to,
        acts: Vec::new(),
        angle: text("shot.talking").to_owned(),
        screen: String::new(),
        mirrored: String::new(),
        hand: String::new(),
        shows: vec![text("shot.light").to_owned()],
        steps: vec![text(what).to_owned()],
        stills: Vec::new(),
    };
    let mut all = Vec::new();
    let (begin, end) = (begins[0], begins[begins.len() - 1]);
    let spoken = |part: Part| take.lines.iter().any(|l: &Line| l.part == part);
    if spoken(Part::Opening) && begin > 0.0 {
        all.push(talk(0.0, begin, "shot.opening"));
    }
    all.extend(merged(&of, &begins));
    if spoken(Part::Closing) && end < take.length {
        all.push(talk(end, take.length, "shot.closing"));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_zone_has_one_rule_and_no_rule_names_what_is_none() {
        let atlas = Atlas::built_in();
        let rules = load(FILE).expect("the shipped rules");
        let named: Vec<&String> = rules.iter().flat_map(|r| &r.zones).collect();
        for zone in &atlas.zones {
            assert_eq!(named.iter().filter(|n| ***n == zone.id).count(), 1, "{}", zone.id);
        }
        for zone in named {
            assert!(atlas.zone_named(zone).is_some(), "{zone}");
        }
        let wrong = load((
            "a.toml",
            "source = \"x\"\n[[angle]]\nzones = [\"ear\"]\nangle = \"font\"\nhand = \"below\"\nshows = [\"hare\"]\n",
        ));
        let told = wrong.expect_err("it is wrong").iter().map(ToString::to_string).collect::<String>();
        assert!(told.contains("font") && told.contains("hare"), "{told}");
    }

    #[test]
    fn own_left_is_on_the_right_of_what_does_not_mirror() {
        assert_eq!(screen(Side::Left, false), "on the right of the picture");
        assert_eq!(screen(Side::Left, true), "on the left of the picture");
        assert_eq!(screen(Side::Right, false), "on the left of the picture");
        assert_eq!(screen(Side::Right, true), "on the right of the picture");
    }
}
