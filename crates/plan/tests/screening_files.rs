//! Answers files and broken screening data: what is read, and what is refused with which words.

mod common;

use common::screened::{atlas, today};
use plan::atlas::Atlas;
use plan::screening::{Answer, Answers, Clearance, Report};
use vocab::{Class, Date, Side};

/// Tests stand at the edge: they may read the examples.
#[allow(clippy::disallowed_methods)]
fn example(name: &str) -> String {
    let path = format!("{}/../../examples/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn clearance(name: &str) -> Clearance {
    let answers = Answers::parse(name, &example(name), atlas()).unwrap_or_else(|f| panic!("{name}: {f:?}"));
    Clearance::new(atlas(), &answers, today())
}

fn class(clearance: &Clearance, target: &str, side: Side) -> Class {
    let target = atlas().target_named(target).expect("a target");
    let technique = common::screened::techniques(atlas(), target)[0];
    clearance.class(atlas(), target, side, technique, atlas().technique(technique).tools[0])
}

#[test]
fn each_example_says_what_its_comment_says() {
    let door = clearance("answers.toml");
    assert_eq!(class(&door, "jaw_muscle", Side::Left), Class::Gently);
    let full = clearance("answers_full.toml");
    assert_eq!((full.unanswered.len(), full.by_group.len()), (0, 0));
    assert_eq!(class(&full, "jaw_muscle", Side::Left), Class::Go);
    let filler = clearance("answers_filler_left.toml");
    assert_eq!(class(&filler, "cheek_front", Side::Left), Class::AskFirst);
    assert_eq!(class(&filler, "cheek_front", Side::Right), Class::Go);
    let device = clearance("answers_device_left.toml");
    assert_eq!(class(&device, "outlet", Side::Left), Class::LeaveOut);
    assert_eq!(class(&device, "outlet", Side::Right), Class::Go);
    let neck = clearance("answers_neck_out.toml");
    for side in [Side::Left, Side::Right] {
        assert_eq!(class(&neck, "neck_side", side), Class::LeaveOut);
        assert_eq!(class(&neck, "forehead", side), Class::Go);
    }
    let ask = clearance("answers_ask.toml");
    assert!(Report::new(atlas(), &ask).clearance.iter().all(|r| !r.class.allows()));
    assert!(!ask.unanswered.is_empty());
    let stop = clearance("answers_stop.toml");
    assert_eq!(class(&stop, "forehead", Side::Left), Class::Stop);
    let gently = clearance("answers_gently.toml");
    assert_eq!(class(&gently, "forehead", Side::Left), Class::Gently);
    assert!(gently.stop.is_empty() && gently.unanswered.is_empty() && gently.by_group.is_empty());
    let cleared = clearance("answers_cleared.toml");
    assert_eq!(class(&cleared, "neck_side", Side::Left), Class::Gently);
}

#[test]
fn what_is_refused_names_line_key_and_the_nearest() {
    let check = |name: &str, expected: &[&str]| {
        let text = example(&format!("refused/{name}"));
        let findings = Answers::parse(name, &text, atlas()).err().unwrap_or_else(|| panic!("{name} was read"));
        let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), expected.len(), "{name}: {said:#?}");
        for (line, part) in said.iter().zip(expected) {
            assert!(line.starts_with(name) && line.contains(part), "{name}: `{line}` lacks `{part}`");
        }
    };
    check(
        "answers_typo.toml",
        &["did you mean `eyes`?", "did you mean `filler`?", "did you mean `side`?", "known are: no, yes, unknown"],
    );
    check("answers_word_without_end.toml", &["`cleared` needs `until`"]);
    check("answers_place.toml", &["which is not offered here", "is not asked `side`"]);
    check("answers_no_toml.toml", &["this is not valid TOML"]);
}

#[test]
fn everything_a_file_can_say_is_read() {
    let text = r#"
asked = 2026-06-01
[warning_signs]
node_time = { where = "below_jaw", side = "left" }
[groups]
eyes = "no"
[conditions]
acne = "no"
filler = { answer = "yes", where = ["cheeks", "chin"], side = "right", since = "2026-05-30", until = 2026-12-31, asked = 2026-06-02 }
[conditions.age60_neck]
answer = "yes"
cleared = { by = "Dr Example", on = 2026-05-01, until = 2027-05-01 }
"#;
    let answers = Answers::parse("a.toml", text, atlas()).unwrap_or_else(|f| panic!("{f:?}"));
    let own = |id: &str| answers.own(atlas().condition_named(id).expect("known")).expect("answered").clone();
    assert_eq!(answers.asked(), Date::new(2026, 6, 1));
    assert_eq!(answers.group(atlas().group_named("eyes").expect("known")), Some(Answer::No));
    assert_eq!((own("acne").answer, own("filler").answer), (Answer::No, Answer::Yes));
    let filler = own("filler");
    let mut places: Vec<&str> = filler.places.iter().map(|z| atlas().zone(*z).id.as_str()).collect();
    places.sort_unstable();
    assert_eq!(places, ["cheek_back", "cheek_front", "chin"]);
    assert_eq!((filler.side, filler.since), (Some(Side::Right), Date::new(2026, 5, 30)));
    assert_eq!((filler.until, filler.asked), (Date::new(2026, 12, 31), Date::new(2026, 6, 2)));
    assert_eq!(
        own("age60_neck").cleared.map(|c| (c.by, c.until)),
        Some(("Dr Example".to_owned(), Date::new(2027, 5, 1).expect("a day")))
    );
    assert_eq!((answers.signs().len(), answers.signs()[0].side), (1, Some(Side::Left)));
    assert_eq!(format!("{answers:?}"), "Answers(not shown)", "what a client told is not for a log");
}

/// The built-in files with one more behind them.
fn with(extra: &str) -> Result<Atlas, Vec<String>> {
    let mut files = Atlas::built_in_files().to_vec();
    files.push(("own.toml", extra));
    Atlas::load(&files).map_err(|findings| findings.iter().map(ToString::to_string).collect())
}

const ACNE: &str = r#"
[[condition]]
id = "acne"
name = "Inflamed acne"
question = "Sore spots?"
group = "skin_and_face"
places = ["face"]
reason = "It hurts."
action = "Leave it out."
spoken = "it is sore here"
source = "common practice, no source"
mark = "memory"
"#;

#[test]
fn broken_screening_data_is_refused_with_file_line_and_reason() {
    let check = |rule: &str, part: &str| {
        let said = with(&format!("{ACNE}\n[[condition.rule]]\n{rule}\n")).err().unwrap_or_default();
        assert!(said.iter().any(|f| f.starts_with("own.toml:") && f.contains(part)), "{rule}: {said:#?}");
    };
    let proof = r#"proof = { target = "chin", on = "midline", class = "leave_out" }"#;
    check("class = \"leave_out\"\nzones = \"where\"", "a rule without a test");
    check(&format!("class = \"leave_oot\"\nzones = \"where\"\n{proof}"), "did you mean `leave_out`?");
    check(&format!("class = \"leave_out\"\nzones = [\"chinn\"]\n{proof}"), "did you mean `chin`?");
    check(&format!("class = \"leave_out\"\n{proof}"), "a rule needs `zones`");
    check(&format!("class = \"stop\"\nzones = \"where\"\n{proof}"), "must have zones = \"all\"");
    check(&format!("class = \"leave_out\"\nzones = \"where\"\nuntil_day = 3\n{proof}"), "`asks_since = true`");
    check(&format!("class = \"leave_out\"\nzones = \"where\"\nusing = 3\n{proof}"), "unknown key `using`");
    let one = "class = \"leave_out\"\nzones = \"where\"\n";
    check(
        &format!("{one}proof = {{ target = \"chin\", on = \"left\", class = \"leave_out\" }}"),
        "is not found on the side",
    );
    check(
        &format!("{one}proof = {{ target = \"shin\", on = \"left\", class = \"leave_out\" }}"),
        "did you mean `chin`?",
    );
    let none = with(ACNE).err().unwrap_or_default();
    assert!(none.iter().any(|f| f.contains("has no [[condition.rule]]")), "{none:#?}");
    let sixth = with("[[group]]\nid = \"six\"\nquestion = \"?\"\nthink_of = \"x\"\nsource = \"ours\"\n")
        .err()
        .unwrap_or_default();
    assert!(sixth.iter().any(|f| f.contains("there are 6 groups")), "{sixth:#?}");
}

#[test]
fn a_practitioners_own_row_replaces_the_built_in_one() {
    let rule = "[[condition.rule]]\nclass = \"ask_first\"\nzones = \"where\"\nproof = { target = \"chin\", on = \"midline\", class = \"ask_first\" }\n";
    let merged = with(&format!("{ACNE}\n{rule}")).unwrap_or_else(|f| panic!("{f:#?}"));
    assert_eq!(merged.conditions.len(), atlas().conditions.len());
    let acne = merged.condition_named("acne").expect("still there");
    assert_eq!(atlas().condition_named("acne"), Some(acne), "it keeps its place");
    assert_eq!(merged.conditions[acne.0].rules[0].class, Class::AskFirst);
}
