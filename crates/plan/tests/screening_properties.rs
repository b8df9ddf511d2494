//! Properties of screening that relate two runs, and files that nobody meant.

mod common;

use common::screened::{answers_file, atlas, own_answer, techniques, today};
use plan::atlas::{ConditionIx, TargetIx, TechniqueIx, ToolIx};
use plan::screening::{Answer, Answers, Clearance, Own};
use proptest::prelude::*;
use vocab::{Class, Side};

/// Every candidate of the atlas.
fn candidates() -> Vec<(TargetIx, Side, TechniqueIx, ToolIx)> {
    let mut all = Vec::new();
    for (t, target) in atlas().targets.iter().enumerate() {
        for &side in target.sides.each() {
            for technique in techniques(atlas(), TargetIx(t)) {
                for &tool in &atlas().technique(technique).tools {
                    all.push((TargetIx(t), side, technique, tool));
                }
            }
        }
    }
    all
}

fn read(text: &str) -> Answers {
    Answers::parse("answers.toml", text, atlas()).unwrap_or_else(|findings| panic!("{findings:?}\n{text}"))
}

fn classes(answers: &Answers) -> Vec<Class> {
    let clearance = Clearance::new(atlas(), answers, today());
    candidates()
        .into_iter()
        .map(|(t, side, technique, tool)| clearance.class(atlas(), t, side, technique, tool))
        .collect()
}

/// What no answer may loosen: the classes are nowhere milder than before.
fn only_stricter(before: &Answers, after: &Answers) -> Result<(), TestCaseError> {
    for ((candidate, a), b) in candidates().into_iter().zip(classes(before)).zip(classes(after)) {
        prop_assert!(b >= a, "{} {} went from {a} to {b}", atlas().target(candidate.0).id, candidate.1);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// A condition that turns from no to yes (or to unknown) only takes away and softens.
    #[test]
    fn adding_a_condition_only_takes_away(file in answers_file(), own in own_answer()) {
        let id = own.split(' ').next().unwrap_or_default();
        let condition = atlas().condition_named(id).expect("made from the atlas");
        let after_own = read(&format!("[conditions]\n{own}\n")).own(condition).expect("it is answered").clone();
        let no = read(&file).with(condition, Own::new(Answer::No));
        only_stricter(&no, &no.clone().with(condition, after_own))?;
    }

    /// So it is on top of five times no, where the door's rule holds before and after.
    #[test]
    fn adding_a_condition_to_five_times_no_only_takes_away(own in own_answer()) {
        let before = Answers::by_groups(atlas(), Answer::No);
        let condition = atlas().condition_named(own.split(' ').next().unwrap_or_default()).expect("made from the atlas");
        let after_own = read(&format!("[conditions]\n{own}\n")).own(condition).expect("it is answered").clone();
        only_stricter(&before, &before.clone().with(condition, after_own))?;
    }

    /// Even when it is the last that rested on its group's *no*, and everything else was answered by itself.
    #[test]
    fn a_condition_that_contradicts_its_group_only_takes_away(own in own_answer()) {
        let condition = atlas().condition_named(own.split(' ').next().unwrap_or_default()).expect("made from the atlas");
        let mut before = Answers::by_groups(atlas(), Answer::No);
        for ix in (0..atlas().conditions.len()).map(ConditionIx).filter(|ix| *ix != condition) {
            before = before.with(ix, Own::new(Answer::No));
        }
        let after_own = read(&format!("[conditions]\n{own}\n")).own(condition).expect("it is answered").clone();
        // A no of its own is an answer, not a condition: with the last of them the intake is whole.
        prop_assume!(after_own.answer != Answer::No);
        only_stricter(&before, &before.clone().with(condition, after_own))?;
    }

    /// A warning sign only takes away.
    #[test]
    fn a_warning_sign_only_takes_away(file in answers_file(), sign in 0..atlas().warning_signs.len()) {
        let before = read(&file);
        let after = before.clone().with_sign(plan::screening::SignToday { sign, places: vec![], side: None });
        only_stricter(&before, &after)?;
    }

    /// Answering all of a group's questions with no, one by one, lets no more through than nobody's illness does; and
    /// a group's no never lets more through than the same no said condition by condition.
    #[test]
    fn a_groups_no_is_never_looser_than_each_no(file in answers_file()) {
        let by_group = read(&file);
        let mut each = by_group.clone();
        for ix in (0..atlas().conditions.len()).map(ConditionIx) {
            if each.own(ix).is_none() {
                each = each.with(ix, Own::new(Answer::No));
            }
        }
        only_stricter(&each, &by_group)?;
    }

    /// `of` and `class` agree, both sides at once is the strictest of the two, and the class comes from the rules.
    #[test]
    fn verdicts_agree(file in answers_file()) {
        let clearance = Clearance::new(atlas(), &read(&file), today());
        for (t, side, technique, tool) in candidates() {
            let verdict = clearance.of(atlas(), t, side, technique, tool);
            prop_assert_eq!(verdict.class, clearance.class(atlas(), t, side, technique, tool));
            prop_assert_eq!(verdict.class == Class::Go, verdict.rules.is_empty());
            if side == Side::Left {
                let right = clearance.class(atlas(), t, Side::Right, technique, tool);
                let both = clearance.class(atlas(), t, Side::Both, technique, tool);
                prop_assert_eq!(both, verdict.class.max(right));
            }
        }
    }

    /// Files that somebody mistyped are read or refused with findings, never with a panic.
    #[test]
    fn mangled_files_never_panic(file in answers_file(), cut in 0usize..4000, put in "[a-z\\[\\]={}\",.0-9\\n -]{0,12}") {
        let mut at = cut % (file.len() + 1);
        while !file.is_char_boundary(at) {
            at -= 1;
        }
        let (head, tail) = file.split_at(at);
        match Answers::parse("answers.toml", &format!("{head}{put}{tail}"), atlas()) {
            Ok(answers) => drop(Clearance::new(atlas(), &answers, today())),
            Err(findings) => prop_assert!(!findings.is_empty()),
        }
    }

    /// Nor does any text at all.
    #[test]
    fn any_text_never_panics(text in "(\\PC|\n){0,200}") {
        if let Err(findings) = Answers::parse("answers.toml", &text, atlas()) {
            prop_assert!(!findings.is_empty());
        }
    }
}
