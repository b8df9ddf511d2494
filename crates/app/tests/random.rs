//! Random input: the program and the desk answer, whatever they are given.

mod house;

use house::{DAY, Desk, Folder, run};
use proptest::prelude::*;

/// Pieces that files of ours are made of, to be put together at random.
fn pieces() -> impl Strategy<Value = String> {
    let known = prop::sample::select(vec![
        "minutes = 8\n",
        "minutes = 0\n",
        "minutes = 99999999999999999999\n",
        "concerns = [\"tight_jaw\"]\n",
        "concerns = [3]\n",
        "tools = [\"hands\"]\n",
        "both = true\n",
        "order = \"downward\"\n",
        "sides = \"side_by_side\"\n",
        "answers = \"\"\n",
        "answers = \"../..\"\n",
        "audience = true\n",
        "[[lock]]\ntarget = \"ST6\"\n",
        "seconds = 10\n",
        "[weights]\nST6 = 100\n",
        "[[step]]\ntarget = \"outlet\"\nside = \"left\"\ntechnique = \"palm_rest\"\npressure = \"featherlight\"\nseconds = 15\n",
        "[groups]\ntoday = \"no\"\n",
        "[conditions]\nfiller = \"yes\"\n",
        "[conditions.filler]\nanswer = \"yes\"\n",
        "since = 2026-02-30\n",
        "since = 2026-02-01\n",
        "where = [\"chin\"]\n",
        "warning_signs = [\"stroke\"]\n",
        "\u{feff}",
        "\0",
    ]);
    prop_oneof![4 => known.prop_map(str::to_owned), 1 => any::<String>()]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    #[test]
    fn no_file_makes_it_panic(parts in prop::collection::vec(pieces(), 0..12)) {
        let folder = Folder::new("random");
        let path = folder.write("random.toml", parts.concat());
        for command in ["screen", "draft", "check"] {
            let said = run(&[command, &path, "--json", "--today", DAY]);
            // Whatever can't be used is told with the file's name; all else is JSON.
            if said.code == 2 {
                prop_assert!(said.err.contains("random.toml") || said.err.contains("folder"), "{}", said.err);
            } else {
                said.json();
            }
        }
    }
}

#[test]
fn no_form_and_no_address_makes_the_desk_fail() {
    let desk = Desk::start();
    let names = prop::sample::select(vec![
        "concern",
        "minutes",
        "other",
        "tool",
        "hands",
        "full",
        "group.today",
        "group.eyes",
        "group.heart_and_neck",
        "group.skin_and_face",
        "group.long_term",
        "own.filler",
        "where.filler",
        "side.filler",
        "since.filler",
        "own.glaucoma",
        "rest.eyes",
        "sign.stroke",
        "sign_where.stroke",
        "sign_side.stroke",
        "own.",
        ".",
        "",
    ]);
    let values = prop_oneof![
        6 => prop::sample::select(vec![
            "tight_jaw", "before_sleep", "8", "0", "-1", "99999999999", "yes", "no", "unknown", "both", "left", "roller", "cheek_front",
            "2026-02-30", "2026-02-01", "9999-12-31", "on", "",
        ]).prop_map(str::to_owned),
        1 => any::<String>(),
    ];
    let forms = prop::collection::vec((names, values), 0..30);
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig { cases: 150, ..ProptestConfig::default() });
    let asked = runner.run(&forms, |pairs| {
        let form = pairs
            .iter()
            .map(|(name, value)| {
                let coded: String = value.bytes().map(|b| format!("%{b:02x}")).collect();
                format!("{name}={coded}")
            })
            .collect::<Vec<_>>()
            .join("&");
        prop_assert_eq!(desk.post("/routine", &form).status, 200, "{}", form);
        prop_assert_eq!(desk.get(&format!("/?{form}")).status, 200, "{}", form);
        Ok(())
    });
    asked.expect("every form is answered");
    for broken in ["%", "%zz=%f", "&&&==", "concern=%ff%fe"] {
        assert_eq!(desk.post("/routine", broken).status, 200, "{broken}");
    }
}
