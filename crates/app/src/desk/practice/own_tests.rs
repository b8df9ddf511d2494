use super::*;

fn base() -> Base {
    Base { atlas: Atlas::built_in(), files: Vec::new() }
}

fn row(id: &str, values: &[(&'static str, &str)]) -> Row {
    let mut row = Row { id: id.to_owned(), ..Row::default() };
    for (key, value) in values {
        row.values.entry(key).or_default().push((*value).to_owned());
    }
    row
}

fn tool(like: &str) -> Row {
    let grams = [("grams_featherlight", "20"), ("grams_light", "41"), ("grams_firm", "82")];
    let said =
        [("name", "steel \"spoon\""), ("like", like), ("contact_mm2", "100"), ("care", "a\tb\\c"), ("source", "own")];
    row("own_spoon", &[&said[..], &grams].concat())
}

fn technique(like: &str) -> Row {
    row(
        "own_stroke",
        &[
            ("name", "spoon stroke"),
            ("like", like),
            ("says", "Draw it outward."),
            ("direction", "outward"),
            ("mark", "stroke"),
            ("tools", "own_spoon"),
            ("pressures", "light"),
            ("min_s", "10"),
            ("max_s", "30"),
            ("source", "own"),
        ],
    )
}

fn point(zone: &str, across: &str, up: &str) -> Row {
    row(
        "own_rest",
        &[
            ("name", "rest"),
            ("sides", "lateral"),
            ("zone", zone),
            ("find", "There."),
            ("mm_across", across),
            ("mm_up", up),
            ("rule", "There."),
            ("techniques", "hold"),
            ("pressure", "featherlight"),
            ("source", "own"),
            ("rank", "900"),
        ],
    )
}

#[test]
fn what_is_written_is_read_again() {
    let base = base();
    let rows = vec![(Part::Tools, vec![tool("edge_metal")]), (Part::Points, vec![point("cheek_front", "46", "-50.3")])];
    for (part, rows) in &rows {
        let body = body(*part, rows, &base.atlas).expect("a text");
        assert_eq!(read(*part, body.as_str()), *rows, "{}", body.as_str());
    }
}

/// Own tools and techniques can't lift a rule: each that names what they are like names them.
#[test]
fn rules_of_what_is_alike_hold_for_what_is_own() {
    let base = base();
    for like in base.atlas.tools.iter().map(|t| t.id.clone()) {
        for how in base.atlas.techniques.iter().map(|t| t.id.clone()) {
            let rows = vec![(Part::Tools, vec![tool(&like)]), (Part::Techniques, vec![technique(&how)])];
            let (atlas, _) = merged(&base, &rows).unwrap_or_else(|w| panic!("{like} {how}: {w:?}"));
            let (own, known) = (atlas.tool_named("own_spoon").expect("there"), atlas.tool_named(&like).expect("there"));
            let (stroke, alike) =
                (atlas.technique_named("own_stroke").expect("there"), atlas.technique_named(&how).expect("there"));
            assert_eq!(atlas.technique(stroke).glides, atlas.technique(alike).glides);
            for rule in atlas.conditions.iter().flat_map(|c| &c.rules) {
                assert_eq!(rule.tools.contains(&own), rule.tools.contains(&known), "{like}");
                assert_eq!(rule.techniques.contains(&stroke), rule.techniques.contains(&alike), "{how}");
            }
        }
    }
}

/// Every spot of a grid over the drawn face: whichever zone is named, a point is taken only within 5 mm of that zone.
#[test]
fn a_point_lies_in_the_zone_whose_rules_it_follows() {
    let (base, ground) = (base(), Drawing::built_in());
    let (mut taken, mut refused) = (0, 0);
    for across in [0, 12, 24, 36, 48, 60] {
        for up in [-60, -40, -20, 0, 10, 30, 50] {
            for zone in ["cheek_front", "forehead", "upper_lid", "chin", "nape"] {
                let row = point(zone, &across.to_string(), &up.to_string());
                let rows = vec![(Part::Points, vec![row])];
                let at = Spot::new(f64::from(across) / 10.0, (f64::from(up) + pupils()) / 10.0);
                let seen = ground.see(zone, Side::Left).expect("drawn");
                let within = seen.view.front() && outside(at, &seen.outline) <= 0.5;
                match merged(&base, &rows) {
                    Ok(_) => {
                        assert!(within, "{zone} took {at:?}");
                        taken += 1;
                    }
                    Err(wrong) => {
                        assert!(wrong.iter().all(|w| w.key.is_some()), "{wrong:?}");
                        refused += 1;
                    }
                }
            }
        }
    }
    assert!(taken >= 10 && refused > 100, "{taken} taken, {refused} refused");
}

#[test]
fn mistakes_are_named_at_their_fields() {
    let check = |rows: Rows, key: &str, words: &str| {
        let wrong = merged(&base(), &rows).err().unwrap_or_else(|| panic!("{key}: nothing is wrong"));
        let found = wrong.iter().any(|w| w.key == Some(key) && w.said.contains(words));
        assert!(found, "{key} {words}: {wrong:?}");
    };
    let other = |mut row: Row, key: &'static str, value: &str| {
        row.values.insert(key, vec![value.to_owned()]);
        row
    };
    let good = || point("cheek_front", "46", "-50.3");
    check(
        vec![(Part::Points, vec![other(good(), "pressure", "firm")])],
        "pressure",
        "firm is more than the zone “front of the cheek” takes",
    );
    check(vec![(Part::Points, vec![other(good(), "techniques", "nothing")])], "techniques", "nothing");
    check(vec![(Part::Points, vec![other(good(), "rule_across", "pupil")])], "rule_up", "both");
    let ruled = |across: &str, up: &str| {
        let mut row = other(other(good(), "rule_across", across), "rule_up", up);
        row.values.remove("mm_across");
        row.values.remove("mm_up");
        row
    };
    check(vec![(Part::Points, vec![ruled("v999", "v1")])], "rule_across", "v0 to v467");
    check(vec![(Part::Points, vec![ruled("pupil", "nonsense")])], "rule_up", "nonsense");
    check(vec![(Part::Points, vec![ruled("pupil", "brow + 0.5 cun_up")])], "zone", "another place of the hand");
    check(vec![(Part::Tools, vec![other(tool("edge_metal"), "contact_mm2", "many")])], "contact_mm2", "from 10 to");
    check(vec![(Part::Techniques, vec![technique("edge_stroke")])], "tools", "own_spoon");
}

#[test]
fn an_own_id_is_never_that_of_another_row() {
    let rows = vec![row("own_rest", &[]), row("own_rest_2", &[])];
    assert_eq!(id_for("Rest", &rows), "own_rest_3");
    assert_eq!(id_for("ST1", &rows), "own_st1");
    assert_eq!(id_for("眉", &rows), "own");
}
