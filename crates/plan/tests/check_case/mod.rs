//! A person, invented conditions and the jaw routine of the examples, for the tests of the check.
//!
//! Clearances are made from conditions invented here, so that no row of the screening data is needed for a rule.
#![allow(dead_code)]

#[path = "../common/book.rs"]
pub mod book;

use book::Book;
use plan::atlas::{
    Atlas, Condition, ConditionIx, GroupIx, Proof, Rule, RuleZones, TargetIx, TechniqueIx, ToolIx, ZoneIx,
};
use plan::check::{Breach, apply, check};
use plan::reading::RoutineFile;
use plan::routine::{Step, What};
use plan::screening::{Answer, Answers, Clearance, Own};
use vocab::{Class, Date, Movement, Pressure, Side};

/// The routine of the examples.
pub const ROUTINE: &str = include_str!("../../../../examples/routine.toml");

/// A person, and the jaw routine of the examples.
pub struct Case {
    pub atlas: Atlas,
    pub clearance: Clearance,
    pub routine: RoutineFile,
}

pub fn today() -> Date {
    Date::new(2026, 3, 2).expect("a day")
}

/// A rule of a class for some zones (all, if none is named), and nothing else.
pub fn rule(atlas: &Atlas, class: Class, zones: &[&str]) -> Rule {
    let named: Vec<ZoneIx> = zones.iter().map(|z| atlas.zone_named(z).expect("a zone")).collect();
    Rule {
        class,
        zones: if named.is_empty() { RuleZones::All } else { RuleZones::These(named) },
        targets: Vec::new(),
        techniques: Vec::new(),
        tools: Vec::new(),
        oil: false,
        from_day: 0,
        until_day: None,
        // Loading asks for an example; the tests below are the examples here.
        proof: Proof {
            places: Vec::new(),
            side: None,
            since_days: None,
            target: TargetIx(0),
            on: Side::Left,
            technique: TechniqueIx(0),
            tool: ToolIx(0),
            class,
        },
    }
}

/// The clearance of somebody who has exactly the conditions whose rules are given.
pub fn clearance(atlas: &mut Atlas, rules: Vec<(Rule, Option<Side>)>) -> Clearance {
    let sides: Vec<Option<Side>> = rules.iter().map(|r| r.1).collect();
    atlas.conditions = rules
        .into_iter()
        .enumerate()
        .map(|(i, (rule, _))| Condition {
            id: format!("invented_{i}"),
            name: format!("Invented condition {i}"),
            question: "Do you have it?".into(),
            group: GroupIx(0),
            places: Vec::new(),
            asks_side: true,
            asks_since: false,
            ask_again_days: None,
            rules: vec![rule],
            reason: "It was invented for a test.".into(),
            action: "Ask a clinician.".into(),
            source: "invented for this test".into(),
            mark: "inference".into(),
            spoken: "you have it".into(),
        })
        .collect();
    let mut answers = Answers::all_no(atlas);
    for (i, side) in sides.into_iter().enumerate() {
        let mut own = Own::new(Answer::Yes);
        own.side = side;
        answers = answers.with(ConditionIx(i), own);
    }
    Clearance::new(atlas, &answers, today())
}

impl Case {
    pub fn new() -> Case {
        Case::with(&[])
    }

    pub fn with(rules: &[(Class, &[&str])]) -> Case {
        let mut atlas = Atlas::built_in();
        let rules = rules.iter().map(|(class, zones)| (rule(&atlas, *class, zones), None)).collect();
        let clearance = clearance(&mut atlas, rules);
        let routine = RoutineFile::parse("routine.toml", ROUTINE, &atlas).expect("the example reads");
        Case { atlas, clearance, routine }
    }

    pub fn tool(&self, id: &str) -> ToolIx {
        self.atlas.tool_named(id).expect("a tool")
    }

    pub fn what(&self, target: &str, technique: &str) -> What {
        let target = self.atlas.target_named(target).expect("a target");
        What::Target(target, self.atlas.technique_named(technique).expect("a technique"))
    }

    pub fn work(&self, target: &str, technique: &str, side: Side, pressure: Pressure, seconds: u32) -> Step {
        let what = self.what(target, technique);
        Step { movement: Movement::Work, what, side, tool: self.tool("hands"), pressure, seconds }
    }

    /// The index of the step of this movement on this target and side.
    pub fn at(&self, movement: Movement, target: &str, side: Side) -> usize {
        let found = self
            .routine
            .steps
            .iter()
            .position(|s| s.movement == movement && s.target_id(&self.atlas) == target && s.side == side);
        found.unwrap_or_else(|| panic!("{movement} {target} {side} is in the example"))
    }

    pub fn step(&mut self, target: &str, side: Side) -> &mut Step {
        let at = self.at(Movement::Work, target, side);
        &mut self.routine.steps[at]
    }

    /// Puts work in as the first.
    pub fn first_work(&mut self, step: Step) {
        let at = self.routine.steps.iter().position(|s| s.movement == Movement::Work).expect("some work");
        self.routine.steps.insert(at, step);
    }

    pub fn check(&self) -> Vec<Breach> {
        check(&self.atlas, &self.routine, &self.clearance)
    }

    pub fn rules(&self) -> Vec<&'static str> {
        self.check().into_iter().map(|b| b.rule).collect()
    }

    pub fn words(&self, breach: &Breach) -> (String, String) {
        let steps = &self.routine.steps;
        let book = Book::english();
        (breach.message(book, &self.atlas, &self.clearance, steps), breach.repair_words(book, &self.atlas, steps))
    }

    /// Asserts that the routine breaks this rule, that message and repair say these words, and that doing the
    /// repair mends it. Answers the breach.
    pub fn breaks(&mut self, rule: &str, message: &str, repair: &str) -> Breach {
        let before = self.check();
        let breach = before.iter().find(|b| b.rule == rule).unwrap_or_else(|| panic!("no {rule} in {before:?}"));
        let (said, mend) = self.words(breach);
        assert!(said.contains(message), "{rule}: `{said}` does not say `{message}`");
        assert!(mend.contains(repair), "{rule}: `{mend}` does not say `{repair}`");
        let count = before.iter().filter(|b| b.rule == rule).count();
        apply(&breach.repair, &mut self.routine.steps);
        let after = self.rules().iter().filter(|r| **r == rule).count();
        assert_eq!(after, count - 1, "{rule} is not mended by {:?}", breach.repair);
        breach.clone()
    }
}
