//! Screening tables: question groups, conditions with their rules, warning signs, checklists.
//!
//! Every rule carries an example that tests it, in `proof`; a rule without one is refused.

use vocab::read::Table;
use vocab::{Class, Side};

use super::load::places::zones_in;
use super::load::rows::{Row, look_up, merged, merged_by};
use super::{
    Atlas, ChecklistItem, Condition, Group, GroupIx, Proof, Rule, RuleZones, TargetIx, TechniqueIx, ToolIx, Urgency,
    WarningSign, ZoneIx, load_products,
};

/// How many grouped questions there are.
pub const GROUPS: usize = 5;
/// Days that a rule or an answer may count.
const DAYS: std::ops::RangeInclusive<i64> = 1..=3650;
const SIDES: &[(&str, Side)] =
    &[("left", Side::Left), ("right", Side::Right), ("midline", Side::Midline), ("both", Side::Both)];
const MARKS: &[(&str, &str)] = &[("found", "found"), ("memory", "memory"), ("inference", "inference")];
/// Reads the screening tables of all files; everything they name must be in the atlas already.
pub(super) fn read(roots: &[Table], atlas: &mut Atlas) {
    groups(roots, atlas);
    for row in merged(roots, "condition") {
        condition(row, atlas);
    }
    for row in merged(roots, "warning_sign") {
        warning_sign(row, atlas);
    }
    load_products::read(roots, atlas);
    checklists(roots, atlas);
    for (ix, group) in atlas.groups.iter().enumerate() {
        if !atlas.conditions.iter().any(|c| c.group == GroupIx(ix))
            && let Some(root) = roots.last()
        {
            root.document()
                .note(0, format!("the group `{}` covers no condition; a *no* to it would say nothing", group.id));
        }
    }
}

fn groups(roots: &[Table], atlas: &mut Atlas) {
    let rows = merged(roots, "group");
    if let Some(last) = rows.last()
        && rows.len() != GROUPS
    {
        let count = rows.len();
        last.table.note(format!("there are {count} groups; five questions open the door, no more and no fewer"));
    } else if let (Some(root), 0) = (roots.first(), rows.len()) {
        root.document().note(0, "no file has a [[group]]: without the five grouped questions nobody can be screened");
    }
    for row in rows {
        let t = &row.table;
        atlas.groups.push(Group {
            question: t.need_text("question").text,
            think_of: t.need_text("think_of").text,
            source: t.need_text("source").text,
            id: row.id,
        });
        row.table.finish();
    }
}

fn condition(row: Row, atlas: &mut Atlas) {
    let t = &row.table;
    let group = t.need_text("group");
    let group = GroupIx(look_up(t, "group", &group, atlas.groups.iter().map(|g| g.id.as_str())).unwrap_or(0));
    let mut condition = Condition {
        name: t.need_text("name").text,
        question: t.need_text("question").text,
        group,
        places: zones_in(t, "places", atlas),
        asks_side: t.flag("asks_side").unwrap_or(false),
        asks_since: t.flag("asks_since").unwrap_or(false),
        ask_again_days: days(t, "ask_again_days"),
        rules: Vec::new(),
        reason: t.need_text("reason").text,
        action: t.need_text("action").text,
        source: t.need_text("source").text,
        mark: t.need_choice("mark", MARKS).unwrap_or_default().to_owned(),
        spoken: t.need_text("spoken").text,
        id: row.id.clone(),
    };
    for (number, table) in t.tables("rule").into_iter().enumerate() {
        let table = table.named(&format!("rule {} of condition `{}`", number + 1, row.id));
        if let Some(rule) = rule(table, &condition, atlas) {
            condition.rules.push(rule);
        }
    }
    if t.tables("rule").is_empty() {
        t.note(format!("condition `{}` has no [[condition.rule]]: it would forbid nothing", row.id));
    }
    atlas.conditions.push(condition);
    row.table.finish();
}

fn rule(table: Table, condition: &Condition, atlas: &Atlas) -> Option<Rule> {
    let class = table.need_choice("class", &classes(&[Class::Stop, Class::LeaveOut, Class::AskFirst, Class::Gently]));
    let zones = rule_zones(&table, &condition.places, atlas);
    let ids = |key: &str, known: Vec<&str>| -> Vec<usize> {
        table.words(key).iter().filter_map(|word| look_up(&table, key, word, known.iter().copied())).collect()
    };
    let targets = ids("targets", atlas.targets.iter().map(|t| t.id.as_str()).collect());
    let techniques = ids("techniques", atlas.techniques.iter().map(|t| t.id.as_str()).collect());
    let tools = ids("tools", atlas.tools.iter().map(|t| t.id.as_str()).collect());
    let oil = table.flag("oil").unwrap_or(false);
    let (from_day, until_day) = (days(&table, "from_day"), days(&table, "until_day"));
    if (from_day.is_some() || until_day.is_some()) && !condition.asks_since {
        table.note(format!("a rule of `{}` counts days, so the condition needs `asks_since = true`", condition.id));
    }
    if let (Some(from), Some(until)) = (from_day, until_day)
        && from >= until
    {
        table.note(format!("a rule of `{}` ends on day {until} before it begins on day {from}", condition.id));
    }
    let narrowed = [&targets, &techniques, &tools].iter().any(|list| !list.is_empty()) || oil;
    if class == Some(Class::Stop) && (narrowed || zones != Some(RuleZones::All)) {
        table
            .note(format!("`{}`: a rule that stops must have zones = \"all\" and name nothing narrower", condition.id));
    }
    let proof = proof(&table, &condition.id, &condition.places, atlas);
    table.finish();
    Some(Rule {
        class: class?,
        zones: zones?,
        targets: targets.into_iter().map(TargetIx).collect(),
        techniques: techniques.into_iter().map(TechniqueIx).collect(),
        tools: tools.into_iter().map(ToolIx).collect(),
        oil,
        from_day: from_day.unwrap_or(0),
        until_day,
        proof: proof?,
    })
}

/// The zones of a rule: `"all"`, `"where"`, or zones and sets.
fn rule_zones(table: &Table, places: &[ZoneIx], atlas: &Atlas) -> Option<RuleZones> {
    let words = table.words("zones");
    match words.iter().map(|w| w.text.as_str()).collect::<Vec<_>>()[..] {
        [] => {
            table.note("a rule needs `zones`: \"all\", \"where\", or a list of zones and zone sets");
            None
        }
        ["all"] => Some(RuleZones::All),
        ["where"] if places.is_empty() => {
            table
                .document()
                .note(words[0].line, "zones = \"where\" needs `places`, the zones offered when *where* is asked");
            None
        }
        ["where"] => Some(RuleZones::Where),
        _ => Some(RuleZones::These(zones_in(table, "zones", atlas))),
    }
}

/// The example that tests a rule. Left out: the target's first technique and that technique's first tool.
fn proof(rule: &Table, id: &str, offered: &[ZoneIx], atlas: &Atlas) -> Option<Proof> {
    if !rule.has("proof") {
        rule.note(format!(
            "`{id}`: a rule without a test; add proof = {{ target = \"...\", on = \"left\", class = \"...\" }}"
        ));
        return None;
    }
    let table = rule.table("proof")?.named(&format!("proof of `{id}`"));
    let target = table.need_text("target");
    let target = look_up(&table, "target", &target, atlas.targets.iter().map(|t| t.id.as_str())).map(TargetIx);
    let on = table.need_choice("on", SIDES);
    let class = table.need_choice("class", &classes(&[Class::Stop, Class::LeaveOut, Class::AskFirst, Class::Gently]));
    let techniques = target.map(|t| crate::screening::techniques_at(atlas, t)).unwrap_or_default();
    let technique = match table.text("technique") {
        Some(word) => {
            look_up(&table, "technique", &word, atlas.techniques.iter().map(|t| t.id.as_str())).map(TechniqueIx)
        }
        None => techniques.first().copied(),
    };
    let tools = technique.map(|t| atlas.technique(t).tools.clone()).unwrap_or_default();
    let tool = match table.text("tool") {
        Some(word) => look_up(&table, "tool", &word, atlas.tools.iter().map(|t| t.id.as_str())).map(ToolIx),
        None => tools.first().copied(),
    };
    if let (Some(target), Some(on)) = (target, on)
        && !atlas.target(target).sides.each().contains(&on)
    {
        table.note(format!("proof of `{id}`: `{}` is not found on the side `{on}`", atlas.target(target).id));
    }
    if technique.is_some_and(|t| !techniques.contains(&t)) || tool.is_some_and(|t| !tools.contains(&t)) {
        table.note(format!("proof of `{id}`: this technique or tool is never used at this target"));
    }
    let places = zones_in(&table, "where", atlas);
    if places.iter().any(|zone| !offered.contains(zone)) {
        table.note(format!("proof of `{id}`: `where` names a zone that is not among `places`"));
    }
    let side = table.choice("side", SIDES);
    let since_days = table.int("since_days", 0..=*DAYS.end()).and_then(|d| u32::try_from(d).ok());
    table.finish();
    Some(Proof {
        places,
        side,
        since_days,
        target: target?,
        on: on?,
        technique: technique?,
        tool: tool?,
        class: class?,
    })
}

fn warning_sign(row: Row, atlas: &mut Atlas) {
    let t = &row.table;
    let urgencies = [("emergency", Urgency::Emergency), ("same_day", Urgency::SameDay), ("doctor", Urgency::Doctor)];
    let urgency = t.need_choice("urgency", &urgencies);
    let class = t.need_choice("class", &classes(&[Class::Stop, Class::AskFirst]));
    if urgency.is_some_and(|u| u != Urgency::Doctor) && class == Some(Class::AskFirst) {
        t.note(format!("warning sign `{}`: what needs a clinician today must have class = \"stop\"", row.id));
    }
    let places = zones_in(t, "places", atlas);
    let zones = if t.has("zones") { rule_zones(t, &places, atlas) } else { Some(RuleZones::All) };
    if class == Some(Class::Stop) && zones != Some(RuleZones::All) {
        t.note(format!("warning sign `{}`: one that stops must have zones = \"all\"", row.id));
    }
    let proof = proof(t, &row.id, &places, atlas);
    let (sign, action, source) = (t.need_text("sign").text, t.need_text("action").text, t.need_text("source").text);
    if let (Some(urgency), Some(class), Some(zones), Some(proof)) = (urgency, class, zones, proof) {
        let id = row.id;
        atlas.warning_signs.push(WarningSign { id, sign, urgency, class, zones, places, action, source, proof });
    }
    row.table.finish();
}

fn checklists(roots: &[Table], atlas: &mut Atlas) {
    let text = |table: &Table| {
        let word = table.need_text("text");
        (!word.text.trim().is_empty()).then_some(word)
    };
    for row in merged_by(roots, "check", text) {
        let t = &row.table;
        let when = t.need_choice("when", &[("before", "before"), ("after", "after")]);
        let only = t.choice("only", &[("tool", "tool"), ("oil", "oil")]).map(str::to_owned);
        let source = t.need_text("source").text;
        atlas.checklists.push(ChecklistItem { when: when.unwrap_or_default().to_owned(), text: row.id, only, source });
        row.table.finish();
    }
}

pub(super) fn classes(known: &[Class]) -> Vec<(&'static str, Class)> {
    known.iter().map(|class| (class.word(), *class)).collect()
}

fn days(table: &Table, key: &str) -> Option<u32> {
    table.int(key, DAYS).and_then(|days| u32::try_from(days).ok())
}
