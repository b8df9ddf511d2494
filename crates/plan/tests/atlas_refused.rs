//! Broken atlas files are refused with file, line and reason; a practitioner's own file merges over the shipped ones.

use plan::atlas::{Atlas, Kind};
use vocab::Finding;

const OWN: &str = "own.toml";

const TOOL: &str = r#"
[[tool]]
id = "own_tool"
name = "spoon"
contact_mm2 = 100
care = "Wash it."
grams_featherlight = 20
grams_light = 41
grams_firm = 82
source = "common practice, no source"
"#;
const TECHNIQUE: &str = r#"
[[technique]]
id = "own_technique"
name = "tapping"
says = "Tap softly."
direction = "none"
mark = "press"
tools = ["hands"]
pressures = ["featherlight", "light"]
min_s = 10
max_s = 30
never = ["Never on the eye."]
source = "common practice, no source"
"#;
const ZONE: &str = r#"
[[zone]]
id = "own_zone"
name = "own place"
sides = "lateral"
next = "neck_side"
height = 1000
view = "face"
pressure = "light"
open = "opening_stroke"
open_s = 15
close = "opening_stroke"
close_s = 5
techniques = ["hold"]
rank = 10
find = "Here."
source = "common practice, no source"
"#;
const SET: &str = r#"
[[zone_set]]
id = "own_set"
name = "own places"
zones = ["forehead", "eye"]
source = "ours"
"#;
const POINT: &str = r#"
[[point]]
id = "OWN-1"
name = "own point"
pinyin = "Own"
sides = "lateral"
zone = "forehead"
techniques = ["hold"]
pressure = "light"
rank = 200
shown = "photo"
rule = "Above the outer end of the brow."
find = "Here."
source = "own training"
"#;
const LINE: &str = r#"
[[line]]
id = "own_line"
name = "own line"
sides = "lateral"
zone = "forehead"
crosses = ["forehead", "temple"]
techniques = ["glide"]
pressure = "light"
rank = 201
lap_s = 5
most_laps = 3
shown = "photo"
direction = "outward"
find = "Here."
source = "own training"
"#;
const CONCERN: &str = r#"
[[concern]]
id = "own_concern"
name = "own concern"
known = "Nothing is known."
source = "common practice, no source"

[[concern.link]]
target = "forehead"
weight = 5
grade = "tradition"
source = "own training"
"#;
const EDGE: &str = r#"
[[edge]]
from = "scalp_occipital"
to = "posterior_auricular"
kind = "region to node"
source = "from memory"
"#;
const NODE_ZONE: &str = r#"
[[node_zone]]
node = "scalp_occipital"
zone = "nape"
source = "ours"
"#;
const SETTINGS: &str = r#"
[settings]
change_tool_s = 8
source = "own practice"
"#;

fn over(text: &str) -> Result<Atlas, Vec<Finding>> {
    let mut files = Atlas::built_in_files().to_vec();
    files.push((OWN, text));
    Atlas::load(&files)
}

fn told(findings: &[Finding]) -> String {
    findings.iter().map(|f| format!("{f}\n")).collect()
}

/// The row with one piece of text put in the place of another is refused once: at the line of `at`, and saying `says`.
#[track_caller]
fn check(row: &str, from: &str, to: &str, at: &str, says: &str) {
    assert_eq!(row.matches(from).count(), 1, "`{from}` stands once in the row");
    refused(&row.replace(from, to), at, says);
}

#[track_caller]
fn refused(text: &str, at: &str, says: &str) {
    let offset = text.find(at).unwrap_or_else(|| panic!("`{at}` is not in the file"));
    let line = text[..offset].matches('\n').count() + 1;
    let findings = over(text).expect_err("it is broken");
    assert_eq!(findings.len(), 1, "one finding:\n{}", told(&findings));
    assert_eq!((findings[0].file.as_str(), findings[0].line), (OWN, line), "{}", findings[0]);
    assert!(findings[0].message.contains(says), "{}", findings[0]);
}

#[test]
fn the_rows_of_these_tests_are_sound() {
    for row in [TOOL, TECHNIQUE, ZONE, SET, POINT, LINE, CONCERN, EDGE, NODE_ZONE, SETTINGS] {
        if let Err(findings) = over(row) {
            panic!("{row}\n{}", told(&findings));
        }
    }
}

#[test]
fn a_row_without_source_is_refused() {
    for row in [TOOL, TECHNIQUE, ZONE, SET, POINT, LINE, EDGE, NODE_ZONE, SETTINGS] {
        let at = row.lines().nth(1).expect("a header");
        let source = row.lines().find(|l| l.starts_with("source")).expect("a source");
        check(row, source, "", at, "`source` is missing");
        check(row, source, "source = \"  \"", "source = \"  \"", "`source` is empty");
    }
    check(CONCERN, "source = \"common practice, no source\"\n", "", "[[concern]]", "`source` is missing");
    check(CONCERN, "source = \"own training\"\n", "", "[[concern.link]]", "`source` is missing");
}

#[test]
fn a_circle_is_refused_once_and_what_runs_into_it_too() {
    let second = ZONE.replace("own_zone", "other_zone").replace("1000", "1001");
    let circle = format!("{}{}", ZONE.replace("neck_side", "other_zone"), second.replace("neck_side", "own_zone"));
    let says = "`next` goes in a circle, so there is no way to the outlet: own_zone -> other_zone -> own_zone";
    refused(&circle, "next = \"other_zone\"", says);

    let third = ZONE.replace("own_zone", "third_zone").replace("1000", "1002").replace("neck_side", "own_zone");
    let findings = over(&format!("{circle}{third}")).expect_err("it is broken");
    assert_eq!(findings.len(), 2, "{}", told(&findings));
    assert!(findings[1].message.contains("`third_zone` has no way to the outlet: it runs into a circle at `own_zone`"));

    let own = ZONE.replace("next = \"neck_side\"", "next = \"own_zone\"");
    refused(&own, "next = \"own_zone\"", "own_zone -> own_zone");
}

#[test]
fn a_zone_without_a_way_is_refused() {
    check(ZONE, "next = \"neck_side\"\n", "", "[[zone]]", "`own_zone` has no way to the outlet: `next` is missing");
    check(ZONE, "neck_side", "neck_sied", "next =", "did you mean `neck_side`?");
    let says = "`own_zone` has two sides, so its way cannot pass `below_chin`";
    check(ZONE, "neck_side", "below_chin", "next =", says);
    check(ZONE, "own_zone", "outlet", "next =", "the zone `outlet` has no `next`");
}

#[test]
fn the_main_tree_must_be_borne_out_by_the_graph() {
    let gray = ZONE.replace("source = \"common practice, no source\"", "source = \"Gray 1918 p.692\"");
    let says = "`own_zone`: the drainage graph shows no way from it to `neck_side`";
    refused(&gray, "next =", says);
    let borne_out = format!("{gray}{}", NODE_ZONE.replace("\"nape\"", "\"own_zone\""));
    assert!(over(&borne_out).is_ok(), "with a name of the graph mapped to it, it stands");
    let wrong_way = borne_out.replace("next = \"neck_side\"", "next = \"armpit\"");
    refused(&wrong_way, "next =", "the drainage graph shows no way from it to `armpit`");
}

#[test]
fn unknown_names_are_refused_with_the_nearest() {
    check(ZONE, "\"hold\"", "\"holt\"", "techniques", "did you mean `hold`?");
    check(ZONE, "open = \"opening_stroke\"", "open = \"opening_strok\"", "open =", "did you mean `opening_stroke`?");
    check(POINT, "\"forehead\"", "\"forhead\"", "zone =", "did you mean `forehead`?");
    check(LINE, "\"temple\"", "\"tempel\"", "crosses", "did you mean `temple`?");
    check(SET, "\"eye\"", "\"eyes\"", "zones", "did you mean `eye`?");
    check(TECHNIQUE, "\"hands\"", "\"hand\"", "tools", "did you mean `hands`?");
    check(TECHNIQUE, "\"press\"", "\"pres\"", "mark", "did you mean `press`?");
    check(TECHNIQUE, "\"light\"", "\"lihgt\"", "pressures", "did you mean `light`?");
    check(CONCERN, "\"forehead\"", "\"ST66\"", "target", "did you mean `ST6`?");
    check(CONCERN, "\"tradition\"", "\"proof\"", "grade", "known are: tradition, anatomy, trial");
    check(NODE_ZONE, "\"scalp_occipital\"", "\"scalp_ocipital\"", "node =", "did you mean `scalp_occipital`?");
    check(NODE_ZONE, "\"nape\"", "\"nap\"", "zone =", "did you mean `nape`?");
    let slip = "find = \"Here.\"\ncautoin = \"Not over the pulse.\"";
    check(POINT, "find = \"Here.\"", slip, "cautoin", "unknown key `cautoin`; did you mean `caution`?");
}

#[test]
fn a_missing_key_is_refused_at_its_row() {
    check(POINT, "rule = \"Above the outer end of the brow.\"\n", "", "[[point]]", "`rule` is missing");
    check(LINE, "direction = \"outward\"\n", "", "[[line]]", "`direction` is missing");
    check(CONCERN, "known = \"Nothing is known.\"\n", "", "[[concern]]", "`known` is missing");
    check(TOOL, "care = \"Wash it.\"\n", "", "[[tool]]", "`care` is missing");
    check(POINT, "id = \"OWN-1\"\n", "", "[[point]]", "`id` is missing");
}

#[test]
fn an_id_stands_once() {
    for (row, kind) in [(TOOL, "tool"), (TECHNIQUE, "technique"), (POINT, "point"), (LINE, "line"), (SET, "zone_set")] {
        let twice = format!("{row}{}", row.replace("id = ", "id  = "));
        refused(&twice, "id  = ", &format!("{kind} `"));
        let findings = over(&twice).expect_err("twice");
        assert!(findings[0].message.contains("stands already on line 3 of this file"), "{}", findings[0]);
    }
    check(LINE, "own_line", "forehead", "id =", "this is already the id of a zone");
    check(LINE, "own_line", "oil", "id =", "this id is taken by the oil step");
    check(TECHNIQUE, "own_technique", "spread", "[[technique]]", "taken by the oil step");
    check(SET, "own_set", "forehead", "[[zone_set]]", "has the id of a zone");
    check(ZONE, "own_zone", "Own Zone", "id =", "may hold only small letters, digits and _");
}

#[test]
fn heights_and_ranks_differ() {
    check(ZONE, "1000", "280", "height", "height 280 is also that of `forehead`");
    check(POINT, "rank = 200", "rank = 30", "rank", "rank 30 is also that of `GB14` in the same zone");
    check(LINE, "rank = 201", "rank = 10", "rank", "rank 10 is also that of `forehead`");
}

#[test]
fn at_most_three_in_preference_and_none_twice() {
    let four = "[\"hold\", \"small_circles\", \"press_release\", \"palm_rest\"]";
    check(POINT, "[\"hold\"]", four, "techniques", "`techniques` holds 4; at most 3 are weighed");
    let four = "[\"hands\", \"edge_stone\", \"edge_metal\", \"roller\"]";
    check(TECHNIQUE, "[\"hands\"]", four, "tools", "`tools` holds 4; at most 3");
    check(POINT, "[\"hold\"]", "[\"hold\", \"hold\"]", "techniques", "names `hold` twice");
    check(POINT, "[\"hold\"]", "[]", "techniques", "it needs at least one technique");
    check(TECHNIQUE, "[\"hands\"]", "[]", "[[technique]]", "`tools` is empty");
    check(TECHNIQUE, "[\"featherlight\", \"light\"]", "[]", "[[technique]]", "`pressures` names none");
}

#[test]
fn seconds_are_whole_strides_within_bounds() {
    check(
        TECHNIQUE,
        "max_s = 30",
        "max_s = 28",
        "max_s",
        "from min_s 10 to max_s 28 must be a whole number of 5-second",
    );
    check(TECHNIQUE, "max_s = 30", "max_s = 5", "max_s", "from min_s 10 to max_s 5");
    check(ZONE, "open_s = 15", "open_s = 4", "open_s", "`open_s` is 4, but must be from 5");
    check(ZONE, "close_s = 5", "close_s = 0", "close_s", "`close_s` is 0, but must be from 5");
    check(LINE, "most_laps = 3", "most_laps = 0", "most_laps", "`most_laps` is 0");
    check(CONCERN, "weight = 5", "weight = 11", "weight", "`weight` is 11, but must be from 1 to 10");
    check(SETTINGS, "change_tool_s = 8", "oil_drops = [6, 3]", "oil_drops", "the smaller first");
    check(TOOL, "grams_light = 41", "grams_light = 19", "[[tool]]", "grams must grow");
}

#[test]
fn openings_and_closings_are_featherlight_and_dry() {
    check(ZONE, "open = \"opening_stroke\"", "open = \"glide\"", "open =", "glides on oil");
    check(ZONE, "close = \"opening_stroke\"", "close = \"to_and_fro\"", "close =", "cannot be done featherlight");
}

#[test]
fn a_target_takes_no_more_than_its_zones_and_no_technique_it_cannot_bear() {
    check(
        POINT,
        "pressure = \"light\"",
        "pressure = \"firm\"",
        "pressure",
        "firm is more than the zone `forehead` takes",
    );
    let across_the_lid = LINE.replace("\"temple\"", "\"upper_lid\"");
    refused(&across_the_lid, "pressure", "light is more than the zone `upper_lid` takes, which is featherlight");
    let gentle = POINT.replace("pressure = \"light\"", "pressure = \"featherlight\"");
    check(&gentle, "\"hold\"", "\"pinch_release\"", "techniques", "`pinch_release` cannot be done featherlight");
    // It would become possible through a condition that softens, and a condition may only take away.
    let firm = POINT.replace("\"forehead\"", "\"jaw_muscle\"").replace("pressure = \"light\"", "pressure = \"firm\"");
    check(&firm, "[\"hold\"]", "[\"hold\", \"palm_rest\"]", "techniques", "`palm_rest` cannot be done firm");
}

#[test]
fn sides_of_targets_and_zones_agree() {
    let midline = POINT.replace("\"lateral\"", "\"midline\"");
    assert!(over(&midline).is_ok(), "a midline point may lie in a lateral zone that is not neck");
    let neck = midline.replace("\"forehead\"", "\"neck_front\"").replace("\"light\"", "\"featherlight\"");
    refused(&neck, "sides", "it would work both sides of `neck_front` at once");
    check(POINT, "\"forehead\"", "\"chin\"", "sides", "it has two sides, but the zone `chin` exists once");
    check(LINE, "\"temple\"", "\"between_brows\"", "sides", "the zone `between_brows` exists once");
    check(LINE, "[\"forehead\", \"temple\"]", "[\"temple\"]", "crosses", "must cross its own zone");
}

#[test]
fn never_has_its_reason_and_serves_no_concern() {
    check(POINT, "shown = \"photo\"", "shown = \"never\"", "shown", "needs its reason in `never_because`");
    let photo = "shown = \"photo\"\nnever_because = \"x\"";
    check(POINT, "shown = \"photo\"", photo, "never_because", "goes only with shown = \"never\"");
    check(CONCERN, "\"forehead\"", "\"ST9\"", "target", "links `ST9`, which is not for the hand: The carotid artery");
    let idle = format!("{}{}", ZONE.replace("[\"hold\"]", "[]"), CONCERN.replace("\"forehead\"", "\"own_zone\""));
    refused(&idle, "target", "links `own_zone`, which no technique works");
    let twice = format!(
        "{CONCERN}{}",
        CONCERN
            .split_once("[[concern.link]]")
            .map_or(String::new(), |(_, link)| { format!("\n[[concern.link ]]{link}") })
    );
    refused(&twice, "[[concern.link ]]", "links `forehead` twice");
    let bare = CONCERN.split_once("[[concern.link]]").map_or("", |(concern, _)| concern);
    refused(bare, "[[concern]]", "has no [[concern.link]]");
}

#[test]
fn hands_and_the_outlet_must_be_there() {
    let without = |file: &str, from: &str, to: &str| {
        let files: Vec<(&str, String)> = Atlas::built_in_files()
            .iter()
            .map(|(n, t)| (*n, if *n == file { t.replace(from, to) } else { (*t).to_owned() }))
            .collect();
        let files: Vec<(&str, &str)> = files.iter().map(|(n, t)| (*n, t.as_str())).collect();
        told(&Atlas::load(&files).expect_err("it is broken"))
    };
    let hands = without("atlas/techniques.toml", "id = \"hands\"", "id = \"paws\"");
    assert!(hands.contains("no file has the tool `hands`"), "{hands}");
    assert!(hands.contains("atlas/techniques.toml:"), "each technique that names it has its line: {hands}");
    let outlet = without("atlas/zones.toml", "id = \"outlet\"", "id = \"outled\"");
    assert!(outlet.contains("no file has the zone `outlet`"), "{outlet}");
    assert!(told(&Atlas::load(&[]).expect_err("nothing")).contains("no file was given"));
}

#[test]
fn what_is_no_toml_or_of_a_wrong_type_is_refused_with_its_line() {
    let findings = over("[[zone]]\nid = = \"x\"\n").expect_err("no TOML");
    assert_eq!((findings[0].file.as_str(), findings[0].line), (OWN, 2), "{}", findings[0]);
    assert!(findings[0].message.contains("not valid TOML"));
    check(ZONE, "height = 1000", "height = \"high\"", "height", "`height` must be a whole number");
    refused("zone = 3\n", "zone", "`zone` must be a list of tables");
    refused("[[zones]]\nid = \"x\"\n", "[[zones]]", "unknown key `zones`; did you mean `zone`?");
}

#[test]
fn a_known_id_replaces_in_place_and_a_new_one_is_added() {
    let shipped = over("").expect("sound");
    let row = CONCERN.replace("own_concern", "tight_jaw");
    let merged = over(&format!("{row}{POINT}{LINE}{ZONE}{TECHNIQUE}{TOOL}{SETTINGS}")).expect("sound");
    let jaw = merged.concern_named("tight_jaw").expect("still there");
    assert_eq!(Some(jaw), shipped.concern_named("tight_jaw"));
    assert_eq!(merged.concerns.len(), shipped.concerns.len());
    assert_eq!((merged.concerns[jaw.0].name.as_str(), merged.concerns[jaw.0].links.len()), ("own concern", 1));
    assert_eq!(merged.targets.len(), shipped.targets.len() + 3);
    let own = merged.target(merged.target_named("OWN-1").expect("added"));
    assert_eq!((own.kind, own.zone), (Kind::Point, merged.zone_named("forehead").expect("known")));
    assert_eq!(merged.zone(merged.zone_named("own_zone").expect("added")).depth, 2);
    assert_eq!(merged.tools.last().map(|t| t.id.as_str()), Some("own_tool"));
    assert_eq!(merged.techniques.last().map(|t| t.id.as_str()), Some("own_technique"));
    assert_eq!((merged.settings.change_tool_s, merged.settings.oil_s), (8, shipped.settings.oil_s));
    assert_eq!(merged.oil_drops, shipped.oil_drops);
}

#[test]
fn every_mistake_of_every_file_is_told_at_once_in_order() {
    let mut files = Atlas::built_in_files().to_vec();
    let first = POINT.replace("\"forehead\"", "\"forhead\"").replace("\"hold\"", "\"holt\"");
    let second = ZONE.replace("height = 1000", "height = 280");
    files.extend([("a.toml", first.as_str()), ("b.toml", second.as_str())]);
    let findings = Atlas::load(&files).expect_err("both are broken");
    let places: Vec<(&str, usize)> = findings.iter().map(|f| (f.file.as_str(), f.line)).collect();
    assert_eq!(places, [("a.toml", 7), ("a.toml", 8), ("b.toml", 7)], "{}", told(&findings));
}

#[test]
fn more_zones_or_tools_than_the_planner_can_hold_are_refused() {
    let built_in = Atlas::built_in();
    let most = plan::atlas::MOST_ROWS;
    let check = |what: &str, row: &str, id: &str, have: usize| {
        let many = |n: usize| -> String {
            (0..n)
                .map(|i| {
                    row.replace(id, &format!("{id}_{i}")).replace("height = 1000", &format!("height = {}", 1000 + i))
                })
                .collect()
        };
        let load = |text: &str| {
            let mut files: Vec<(&str, &str)> = Atlas::built_in_files().to_vec();
            files.push((OWN, text));
            Atlas::load(&files)
        };
        let room = most - have;
        let full = load(&many(room)).map(|a| if what == "zone" { a.zones.len() } else { a.tools.len() });
        assert_eq!(full, Ok(most), "{what}: as many as there is room for");
        let refused = load(&many(room + 1)).expect_err("one too many");
        let said = refused
            .iter()
            .any(|f| f.file == OWN && f.line > 1 && f.message.contains(&format!("{id}_{room}` is one too many")));
        assert!(said, "{what}: {refused:?}");
    };
    check("zone", ZONE, "own_zone", built_in.zones.len());
    check("tool", TOOL, "own_tool", built_in.tools.len());
}
