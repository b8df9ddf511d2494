//! Screening against its data and against the invariants: each rule's own proof, the rules above the rules, and
//! properties that relate two runs.

mod common;

use common::book::Book;
use common::screened;
use plan::atlas::{Atlas, ConditionIx, GroupIx, Proof, RuleZones, TargetIx};
use plan::screening::{
    Answer, Answers, Clearance, Cleared, DOOR, NEVER, Own, Report, RuleRef, SignToday, Verdict, reason,
};
use vocab::{Class, Date, Side, Sides};

use screened::{atlas, day, days_before, today};

fn at(atlas: &Atlas, clearance: &Clearance, target: &str, side: Side) -> Verdict {
    let target = atlas.target_named(target).unwrap_or_else(|| panic!("{target} is a target"));
    let technique = screened::techniques(atlas, target)[0];
    clearance.of(atlas, target, side, technique, atlas.technique(technique).tools[0])
}

fn condition(atlas: &Atlas, id: &str) -> ConditionIx {
    atlas.condition_named(id).unwrap_or_else(|| panic!("{id} is a condition"))
}

/// Everything answered no by itself but this one, which is a plain yes.
fn only(atlas: &Atlas, id: &str, own: Own) -> Answers {
    Answers::all_no(atlas).with(condition(atlas, id), own)
}

fn yes() -> Own {
    Own::new(Answer::Yes)
}

fn example(proof: &Proof) -> Own {
    Own { places: proof.places.clone(), side: proof.side, since: proof.since_days.map(days_before), ..yes() }
}

fn at_proof(atlas: &Atlas, clearance: &Clearance, proof: &Proof) -> Verdict {
    clearance.of(atlas, proof.target, proof.on, proof.technique, proof.tool)
}

#[test]
fn every_rule_holds_its_own_proof() {
    let atlas = atlas();
    let clear = Clearance::new(atlas, &Answers::all_no(atlas), today());
    let mut proven = 0;
    for (ix, data) in atlas.conditions.iter().enumerate() {
        for (number, rule) in data.rules.iter().enumerate() {
            let this = RuleRef::Condition(ConditionIx(ix), number);
            let name = this.id(atlas);
            let proof = &rule.proof;
            let before = at_proof(atlas, &clear, proof);
            assert_eq!(
                (before.class, before.rules),
                (Class::Go, vec![]),
                "{name}: allowed before, so that the rule shows"
            );
            let clearance = Clearance::new(atlas, &only(atlas, &data.id, example(proof)), today());
            let verdict = at_proof(atlas, &clearance, proof);
            assert_eq!(verdict.class, proof.class, "{name}: the class its proof names");
            assert_eq!(proof.class, rule.class, "{name}: its proof must test the rule's own class");
            assert!(verdict.rules.contains(&this), "{name} is not among the rules that touched: {:?}", verdict.rules);
            proven += 1;
        }
    }
    for (ix, sign) in atlas.warning_signs.iter().enumerate() {
        let today_sign = SignToday { sign: ix, places: sign.proof.places.clone(), side: sign.proof.side };
        let clearance = Clearance::new(atlas, &Answers::all_no(atlas).with_sign(today_sign), today());
        let verdict = at_proof(atlas, &clearance, &sign.proof);
        assert_eq!((verdict.class, sign.class), (sign.proof.class, sign.proof.class), "warning.{}", sign.id);
        assert_eq!(verdict.rules, [RuleRef::Warning(ix)], "warning.{}", sign.id);
        proven += 1;
    }
    assert!(proven >= 57 + 17, "only {proven} proofs were run");
}

#[test]
fn a_rule_for_one_side_leaves_the_other_alone() {
    let atlas = atlas();
    let mut checked = 0;
    for (ix, data) in atlas.conditions.iter().enumerate() {
        for (number, rule) in data.rules.iter().enumerate() {
            let (Some(Side::Left | Side::Right), Sides::Lateral) =
                (rule.proof.side, atlas.target(rule.proof.target).sides)
            else {
                continue;
            };
            let clearance = Clearance::new(atlas, &only(atlas, &data.id, example(&rule.proof)), today());
            let other = if rule.proof.on == Side::Left { Side::Right } else { Side::Left };
            let proof = Proof { on: other, ..rule.proof.clone() };
            let verdict = at_proof(atlas, &clearance, &proof);
            assert_eq!(verdict.class, Class::Go, "{}", RuleRef::Condition(ConditionIx(ix), number).id(atlas));
            checked += 1;
        }
    }
    assert!(checked >= 10, "only {checked} one-sided proofs");
}

/// Where a rule reaches, worked out again from the words of the data, candidate by candidate.
#[test]
fn every_rule_touches_what_its_words_say_and_nothing_else() {
    let atlas = atlas();
    for (ix, data) in atlas.conditions.iter().enumerate() {
        for (number, rule) in data.rules.iter().enumerate() {
            let this = RuleRef::Condition(ConditionIx(ix), number);
            let own = example(&rule.proof);
            let clearance = Clearance::new(atlas, &only(atlas, &data.id, own.clone()), today());
            let (mut touched, mut spared) = (0, 0);
            for (t, target) in atlas.targets.iter().enumerate() {
                let place = match &rule.zones {
                    RuleZones::All => true,
                    RuleZones::These(zones) => target.crosses.iter().any(|z| zones.contains(z)),
                    RuleZones::Where if own.places.is_empty() => target.crosses.iter().any(|z| data.places.contains(z)),
                    RuleZones::Where => target.crosses.iter().any(|z| own.places.contains(z)),
                };
                let named = rule.targets.is_empty() || rule.targets.contains(&TargetIx(t));
                for &side in target.sides.each() {
                    let there = !data.asks_side
                        || side == Side::Midline
                        || own.side.is_none_or(|said| said == Side::Both || said == side);
                    for technique in screened::techniques(atlas, TargetIx(t)) {
                        for &tool in &atlas.technique(technique).tools {
                            let how = (rule.techniques.is_empty() || rule.techniques.contains(&technique))
                                && (rule.tools.is_empty() || rule.tools.contains(&tool))
                                && (!rule.oil || atlas.technique(technique).glides);
                            let expected = place && named && there && how;
                            let got = clearance.of(atlas, TargetIx(t), side, technique, tool).rules.contains(&this);
                            assert_eq!(got, expected, "{} at {} {side}", this.id(atlas), target.id);
                            if expected { touched += 1 } else { spared += 1 }
                        }
                    }
                }
            }
            let whole = rule.zones == RuleZones::All && !data.asks_side && rule.targets.is_empty();
            let any_way = rule.techniques.is_empty() && rule.tools.is_empty() && !rule.oil;
            assert!(touched > 0 && (spared > 0 || (whole && any_way)), "{}: {touched}, {spared}", this.id(atlas));
        }
    }
}

// proves: unknown_asks
#[test]
fn what_is_not_answered_asks_everywhere_it_could_be() {
    let atlas = atlas();
    let nothing = Clearance::new(atlas, &Answers::unknown(atlas), today());
    for row in Report::new(atlas, &nothing).clearance {
        assert!(!row.class.allows(), "{} {} {} {}: {}", row.target, row.side, row.technique, row.tool, row.class);
    }
    let groups: Vec<&str> = atlas.groups.iter().map(|g| g.id.as_str()).collect();
    assert_eq!(nothing.unanswered, groups, "nothing answered: the five questions are asked, in order");
    for (ix, data) in atlas.conditions.iter().enumerate() {
        let ix = ConditionIx(ix);
        let clearance = Clearance::new(atlas, &only(atlas, &data.id, Own::new(Answer::Unknown)), today());
        assert_eq!(clearance.unanswered, [data.id.as_str()], "{} is still to be asked", data.id);
        for rule in &data.rules {
            let proof = &rule.proof;
            for &on in atlas.target(proof.target).sides.each() {
                let verdict = at_proof(atlas, &clearance, &Proof { on, ..proof.clone() });
                assert_eq!(verdict.class, Class::AskFirst, "{} unknown, {on}", data.id);
                assert_eq!(verdict.rules, [RuleRef::Unanswered(ix)], "{} unknown, {on}", data.id);
            }
        }
    }
}

// proves: strictest_wins
#[test]
fn the_strictest_rule_wins_and_every_rule_is_listed() {
    let atlas = atlas();
    let minor = only(atlas, "minor", yes());
    assert_eq!(at(atlas, &Clearance::new(atlas, &minor, today()), "neck_side", Side::Left).class, Class::Gently);
    let asked = minor.with(condition(atlas, "age60_neck"), yes());
    assert_eq!(at(atlas, &Clearance::new(atlas, &asked, today()), "neck_side", Side::Left).class, Class::AskFirst);
    let out = asked.with(condition(atlas, "carotid_sinus"), yes());
    let verdict = at(atlas, &Clearance::new(atlas, &out, today()), "neck_side", Side::Left);
    assert_eq!(verdict.class, Class::LeaveOut);
    let mut ids = verdict.rule_ids(atlas);
    ids.sort_unstable();
    assert_eq!(ids, ["age60_neck.1", "carotid_sinus.1", "minor.1"]);
    let both = at(atlas, &Clearance::new(atlas, &left_filler(atlas), today()), "cheek_front", Side::Both);
    assert_eq!(both.class, Class::AskFirst, "both sides at once: the stricter of the two");
}

fn left_filler(atlas: &Atlas) -> Answers {
    let cheek = atlas.zone_named("cheek_front").expect("a zone");
    only(atlas, "filler", Own { places: vec![cheek], side: Some(Side::Left), since: Some(days_before(5)), ..yes() })
}

// proves: ask_first_until_cleared
#[test]
fn a_clinicians_word_lifts_ask_first_to_gently_and_nothing_else() {
    let atlas = atlas();
    let word = |on, until| Cleared { by: "Dr Example".to_owned(), on, until };
    let class = |id: &str, target: &str, cleared: Option<Cleared>| {
        let clearance = Clearance::new(atlas, &only(atlas, id, Own { cleared, ..yes() }), today());
        at(atlas, &clearance, target, Side::Left).class
    };
    let valid = || Some(word(days_before(10), today()));
    assert_eq!(class("age60_neck", "neck_side", None), Class::AskFirst);
    assert_eq!(class("age60_neck", "neck_side", valid()), Class::Gently);
    assert_eq!(class("age60_neck", "neck_side", Some(word(days_before(30), days_before(1)))), Class::AskFirst, "over");
    let later = Date::new(2027, 1, 1).expect("a day");
    assert_eq!(class("age60_neck", "neck_side", Some(word(later, later))), Class::AskFirst, "not yet given");
    assert_eq!(class("carotid_sinus", "neck_side", valid()), Class::LeaveOut, "leave out stays");
    assert_eq!(class("renal", "forehead", valid()), Class::Stop, "stop stays");
    let cleared = only(atlas, "age60_neck", Own { cleared: valid(), ..yes() });
    let said = Clearance::new(atlas, &cleared, today()).reason(Book::english(), atlas, "age60_neck.1");
    assert!(said.contains("Dr Example") && !said.contains("Left out"), "the word stands where the rule is: {said}");
}

// proves: door_featherlight
#[test]
fn five_times_no_opens_the_door_for_featherlight_work_only() {
    let atlas = atlas();
    let clearance = Clearance::new(atlas, &Answers::by_groups(atlas, Answer::No), today());
    assert_eq!(clearance.unanswered, Vec::<String>::new());
    assert_eq!(clearance.by_group.len(), atlas.conditions.len());
    let mut seen = (0, 0);
    for (ix, target) in atlas.targets.iter().enumerate() {
        let open = target.crosses.iter().all(|z| atlas.zone(*z).door);
        for &side in target.sides.each() {
            for technique in screened::techniques(atlas, TargetIx(ix)) {
                let tool = atlas.technique(technique).tools[0];
                let verdict = clearance.of(atlas, TargetIx(ix), side, technique, tool);
                assert!(verdict.rules.contains(&RuleRef::Door), "{}: the door is named", target.id);
                match (screened::is_never(target), open) {
                    (true, _) => assert_eq!(verdict.class, Class::LeaveOut, "{}", target.id),
                    (false, true) => assert_eq!(verdict.class, Class::Gently, "{}", target.id),
                    (false, false) => assert_eq!(verdict.class, Class::AskFirst, "{}", target.id),
                }
                seen = if open { (seen.0 + 1, seen.1) } else { (seen.0, seen.1 + 1) };
            }
        }
    }
    assert!(seen.0 > 50 && seen.1 > 10, "both sides of the door are there: {seen:?}");
    let full = Clearance::new(atlas, &Answers::all_no(atlas), today());
    assert_eq!(at(atlas, &full, "shoulder_top", Side::Left), Verdict { class: Class::Go, rules: vec![] });
}

// proves: group_no_covers
#[test]
fn a_groups_no_covers_its_conditions_and_an_own_answer_overrides_it() {
    let atlas = atlas();
    for (g, group) in atlas.groups.iter().enumerate() {
        let answers = Answers::all_no(atlas);
        let mut open = Answers::unknown(atlas);
        for (ix, data) in atlas.conditions.iter().enumerate() {
            if data.group != GroupIx(g) {
                open = open.with(ConditionIx(ix), answers.own(ConditionIx(ix)).expect("answered").clone());
            }
        }
        let unanswered = |answers: &Answers| Clearance::new(atlas, answers, today()).unanswered;
        assert_eq!(unanswered(&open), [group.id.as_str()], "the group is asked first");
        let no = open.clone().with_group(GroupIx(g), Answer::No);
        assert_eq!(unanswered(&no), Vec::<String>::new(), "no covers the whole group");
        let yes_opens = open.clone().with_group(GroupIx(g), Answer::Yes);
        let own: Vec<&str> = atlas.conditions.iter().filter(|c| c.group == GroupIx(g)).map(|c| c.id.as_str()).collect();
        assert_eq!(unanswered(&yes_opens), own, "yes opens the group's own questions");
        let unsure = open.with_group(GroupIx(g), Answer::Unknown);
        assert_eq!(unanswered(&unsure), [group.id.as_str()]);
    }
    let no = Answers::by_groups(atlas, Answer::No);
    let clearance = Clearance::new(atlas, &no.with(condition(atlas, "carotid_sinus"), yes()), today());
    assert_eq!(at(atlas, &clearance, "neck_side", Side::Left).class, Class::LeaveOut, "the own answer overrides");
}

#[test]
fn every_condition_stands_in_its_groups_words() {
    let atlas = atlas();
    for (id, word) in common::screened::ASKED_BY {
        let data = &atlas.conditions[condition(atlas, id).0];
        let group = &atlas.groups[data.group.0];
        let asked = format!("{} {}", group.question, group.think_of).to_lowercase();
        assert!(asked.contains(word), "the group `{}` does not ask for {id}: no \"{word}\" in it", group.id);
    }
    assert_eq!(ASKED, atlas.conditions.len(), "every condition is in the list");
}

const ASKED: usize = common::screened::ASKED_BY.len();

// proves: one_side_touches_midline
#[test]
fn a_rule_for_one_side_touches_what_lies_on_the_midline() {
    let atlas = atlas();
    let left = Own { side: Some(Side::Left), ..yes() };
    let nodes = Clearance::new(atlas, &only(atlas, "node_removal", left.clone()), today());
    assert_eq!(at(atlas, &nodes, "below_jaw", Side::Left).class, Class::AskFirst);
    assert_eq!(at(atlas, &nodes, "below_jaw", Side::Right).class, Class::Go);
    assert_eq!(at(atlas, &nodes, "between_brows", Side::Midline).class, Class::AskFirst);
    let device = Clearance::new(atlas, &only(atlas, "pacemaker", left), today());
    for row in Report::new(atlas, &device).clearance {
        let on_it = ["outlet", "below_collarbone", "armpit"].iter().any(|z| {
            let target = atlas.target(atlas.target_named(&row.target).expect("a target"));
            target.crosses.contains(&atlas.zone_named(z).expect("a zone"))
        });
        let never = row.rules.iter().any(|r| r == NEVER);
        let expected = if on_it && row.side == Side::Left || never { Class::LeaveOut } else { Class::Go };
        assert_eq!(row.class, expected, "device on the left: {} {}", row.target, row.side);
    }
}

// proves: stop_whole
#[test]
fn what_stops_stops_everything() {
    let atlas = atlas();
    let stopped = Clearance::new(atlas, &only(atlas, "thrombosis", yes()), today());
    assert_eq!(stopped.stop, [RuleRef::Condition(condition(atlas, "thrombosis"), 0)]);
    for row in Report::new(atlas, &stopped).clearance {
        assert_eq!(row.class, Class::Stop, "{} {}", row.target, row.side);
    }
}

// proves: warning_sign_stop
#[test]
fn a_warning_sign_that_is_there_today_stops_or_asks_at_its_place() {
    let atlas = atlas();
    let sign = |id: &str| atlas.warning_signs.iter().position(|s| s.id == id).expect("a sign");
    let said = |id: &str, places: Vec<_>, side| SignToday { sign: sign(id), places, side };
    let none = Answers::all_no(atlas);
    let stroke = Clearance::new(atlas, &none.clone().with_sign(said("stroke", vec![], None)), today());
    assert_eq!(stroke.stop, [RuleRef::Warning(sign("stroke"))]);
    assert!(Report::new(atlas, &stroke).clearance.iter().all(|r| r.class == Class::Stop));
    let neck = atlas.zone_named("neck_side").expect("a zone");
    let gland = Clearance::new(atlas, &none.with_sign(said("node_time", vec![neck], Some(Side::Right))), today());
    assert_eq!(at(atlas, &gland, "neck_side", Side::Right).class, Class::AskFirst);
    assert_eq!(at(atlas, &gland, "neck_side", Side::Left).class, Class::Go);
    assert_eq!(Report::new(atlas, &gland).warning_signs[0].id, "node_time");
}

// proves: date_expiry
#[test]
fn days_are_counted_and_answers_that_are_too_old_ask_again() {
    let atlas = atlas();
    for (ix, data) in atlas.conditions.iter().enumerate() {
        for (number, rule) in data.rules.iter().enumerate() {
            let this = RuleRef::Condition(ConditionIx(ix), number);
            let touches = |since: Option<Date>| {
                let own = Own { since, ..example(&rule.proof) };
                let verdict =
                    at_proof(atlas, &Clearance::new(atlas, &only(atlas, &data.id, own), today()), &rule.proof);
                verdict.rules.contains(&this)
            };
            assert!(touches(None), "{}: an unknown beginning counts as within", this.id(atlas));
            assert!(touches(Some(day(20))), "{}: a beginning that is still to come is not known", this.id(atlas));
            if let Some(until) = rule.until_day {
                assert!(touches(Some(days_before(until - 1))), "{}: the last day", this.id(atlas));
                assert!(!touches(Some(days_before(until))), "{}: over", this.id(atlas));
            }
            if rule.from_day > 0 {
                assert!(!touches(Some(days_before(rule.from_day - 1))), "{}: not yet", this.id(atlas));
                assert!(touches(Some(days_before(rule.from_day))), "{}: the first day", this.id(atlas));
            }
        }
        let unknown = |own: Own, whole: Option<Date>| {
            let mut answers = Answers::all_no(atlas).with(ConditionIx(ix), own);
            if let Some(whole) = whole {
                answers = answers.asked_on(whole);
            }
            Clearance::new(atlas, &answers, today()).unanswered.contains(&data.id)
        };
        let no = || Own::new(Answer::No);
        let asked = |days| Own { asked: Some(days_before(days)), ..no() };
        if let Some(days) = data.ask_again_days {
            assert!(!unknown(asked(days - 1), None), "{}: still holds", data.id);
            assert!(unknown(asked(days), None), "{}: asked again", data.id);
            assert!(unknown(no(), Some(days_before(days))), "{}: the day of the whole counts", data.id);
            assert!(!unknown(asked(0), Some(days_before(days))), "{}: its own day counts first", data.id);
        }
        assert!(unknown(Own { until: Some(days_before(1)), ..no() }, None), "{}: past its end", data.id);
        assert!(unknown(Own { asked: Some(day(1)), ..no() }, None), "{}: dated tomorrow", data.id);
    }
}

// proves: atlas_never
#[test]
fn what_the_atlas_marks_as_never_stays_out_for_everyone() {
    let atlas = atlas();
    let clear = Clearance::new(atlas, &Answers::all_no(atlas), today());
    let never: Vec<usize> = (0..atlas.targets.len()).filter(|t| screened::is_never(&atlas.targets[*t])).collect();
    assert!(!never.is_empty());
    for t in never {
        for technique in screened::techniques(atlas, TargetIx(t)) {
            let tool = atlas.technique(technique).tools[0];
            let verdict = clear.of(atlas, TargetIx(t), atlas.targets[t].sides.each()[0], technique, tool);
            assert_eq!(verdict.rule_ids(atlas), [NEVER], "{}", atlas.targets[t].id);
            assert_eq!(verdict.class, Class::LeaveOut);
        }
    }
}

#[test]
fn an_audience_gets_what_the_door_opens_and_hears_who_leaves_a_step_out() {
    let atlas = atlas();
    let many = Clearance::audience(atlas);
    assert_eq!(at(atlas, &many, "forehead", Side::Left).class, Class::Gently);
    assert_eq!(at(atlas, &many, "shoulder_top", Side::Left).class, Class::AskFirst);
    assert!(many.unanswered.is_empty() && many.stop.is_empty());
    let lid = atlas.target_named("lower_lid").expect("a target");
    let technique = screened::techniques(atlas, lid)[0];
    let spoken = many.spoken(atlas, lid, Side::Left, technique);
    let ids: Vec<&str> = spoken.iter().map(|s| atlas.conditions[s.condition.0].id.as_str()).collect();
    for id in ["glaucoma", "eye_surgery", "filler", "conjunctivitis"] {
        assert!(ids.contains(&id), "{id} is spoken at the lower lid, not only {ids:?}");
    }
    assert!(!ids.contains(&"thrombosis") && !ids.contains(&"pacemaker"), "{ids:?}");
    for s in &spoken {
        let said = s.sentences(Book::english(), atlas);
        assert!(said.ends_with('.') && said.matches('.').count() >= 2, "{said}");
    }
    let first: Vec<ConditionIx> = many.spoken_first(atlas).iter().map(|s| s.condition).collect();
    assert!(first.contains(&condition(atlas, "thrombosis")) && !first.contains(&condition(atlas, "glaucoma")));
    // Together they leave no condition unsaid, wherever the routine goes.
    let mut said = first;
    for (t, target) in atlas.targets.iter().enumerate() {
        for technique in screened::techniques(atlas, TargetIx(t)) {
            said.extend(many.spoken(atlas, TargetIx(t), target.sides.each()[0], technique).iter().map(|s| s.condition));
        }
    }
    for (ix, data) in atlas.conditions.iter().enumerate() {
        assert!(said.contains(&ConditionIx(ix)), "{} is never spoken", data.id);
    }
}

#[test]
fn a_reason_says_how_many_days_are_left() {
    let atlas = atlas();
    let said = |since| {
        let own = Own { since, ..yes() };
        Clearance::new(atlas, &only(atlas, "botulinum", own), today()).reason(Book::english(), atlas, "botulinum.1")
    };
    assert!(said(Some(days_before(5))).ends_with("This holds for 9 more days."), "{}", said(Some(days_before(5))));
    assert!(said(Some(days_before(13))).ends_with("This holds for one more day."));
    assert_eq!(said(None), reason(Book::english(), atlas, "botulinum.1"));
}

#[test]
fn every_rule_id_reads_back_and_has_a_sentence() {
    let book = Book::english();
    let atlas = atlas();
    let mut rules = vec![RuleRef::Door, RuleRef::Never];
    rules.extend((0..atlas.warning_signs.len()).map(RuleRef::Warning));
    for (ix, data) in atlas.conditions.iter().enumerate() {
        rules.push(RuleRef::Unanswered(ConditionIx(ix)));
        rules.extend((0..data.rules.len()).map(|r| RuleRef::Condition(ConditionIx(ix), r)));
    }
    for rule in rules {
        let id = rule.id(atlas);
        assert_eq!(RuleRef::from_id(atlas, &id), Some(rule), "{id}");
        let text = reason(book, atlas, &id);
        assert!(text.len() > 20 && text.ends_with('.') && text != id, "{id}: {text}");
    }
    for odd in ["", "filler", "filler.0", "filler.9", "unanswered.", "warning.x", "x.1", "filler.-1"] {
        assert_eq!(RuleRef::from_id(atlas, odd), None, "{odd}");
    }
    assert_eq!(RuleRef::from_id(atlas, DOOR), Some(RuleRef::Door));
}

#[test]
fn zones_of_the_neck_are_those_of_the_planning_rules() {
    let atlas = atlas();
    let set = atlas.zone_set("neck").expect("the neck");
    let mut ids: Vec<&str> = set.zones.iter().map(|z| atlas.zone(*z).id.as_str()).collect();
    ids.sort_unstable();
    assert_eq!(ids, ["below_chin", "below_jaw", "nape", "neck_front", "neck_side"]);
    for id in ["carotid_sinus", "carotid_stenosis", "neck_instability", "hyperthyroid", "age60_neck", "tia_stroke"] {
        for rule in &atlas.conditions[condition(atlas, id).0].rules {
            assert_eq!(rule.zones, RuleZones::These(set.zones.clone()), "{id}");
        }
    }
}
