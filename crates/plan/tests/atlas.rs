//! The atlas as shipped: complete, sourced and consistent with what its sources say.

use std::collections::BTreeSet;

use plan::atlas::{Atlas, Grade, Kind, Shown, TargetIx, ZoneIx};
use vocab::{Pressure, Side, Sides};

fn atlas() -> Atlas {
    match Atlas::load(Atlas::built_in_files()) {
        Ok(atlas) => atlas,
        Err(findings) => {
            panic!("the shipped atlas: {}", findings.iter().map(|f| f.to_string()).collect::<Vec<_>>().join("\n"))
        }
    }
}

/// Codes, sides and pages of WHO Western Pacific Region, Standard Acupuncture Point Locations, 2008; `-` marks the six
/// extra points that are not in it.
const POINTS: &[(&str, &str, &str)] = &[
    ("ST1", "lateral", "46"),
    ("ST2", "lateral", "46"),
    ("ST3", "lateral", "47"),
    ("ST4", "lateral", "47"),
    ("ST5", "lateral", "48"),
    ("ST6", "lateral", "48"),
    ("ST7", "lateral", "49"),
    ("ST8", "lateral", "49"),
    ("ST9", "lateral", "50"),
    ("ST10", "lateral", "50"),
    ("ST11", "lateral", "51"),
    ("ST12", "lateral", "51"),
    ("LI17", "lateral", "42"),
    ("LI18", "lateral", "42"),
    ("LI19", "lateral", "43"),
    ("LI20", "lateral", "43"),
    ("SI16", "lateral", "95"),
    ("SI17", "lateral", "96"),
    ("SI18", "lateral", "96"),
    ("SI19", "lateral", "97"),
    ("BL1", "lateral", "100"),
    ("BL2", "lateral", "100"),
    ("BL3", "lateral", "101"),
    ("BL4", "lateral", "101"),
    ("TE16", "lateral", "165"),
    ("TE17", "lateral", "166"),
    ("TE20", "lateral", "167"),
    ("TE21", "lateral", "168"),
    ("TE22", "lateral", "168"),
    ("TE23", "lateral", "169"),
    ("GB1", "lateral", "172"),
    ("GB2", "lateral", "172"),
    ("GB3", "lateral", "173"),
    ("GB4", "lateral", "173"),
    ("GB7", "lateral", "175"),
    ("GB12", "lateral", "177"),
    ("GB13", "lateral", "178"),
    ("GB14", "lateral", "178"),
    ("GB15", "lateral", "179"),
    ("GB20", "lateral", "181"),
    ("GB21", "lateral", "182"),
    ("GV20", "midline", "213"),
    ("GV23", "midline", "215"),
    ("GV24", "midline", "215"),
    ("GV25", "midline", "216"),
    ("GV26", "midline", "216"),
    ("GV27", "midline", "217"),
    ("GV28", "midline", "217"),
    ("CV22", "midline", "230"),
    ("CV23", "midline", "231"),
    ("CV24", "midline", "231"),
    ("EX-HN3", "midline", "-"),
    ("EX-HN4", "lateral", "-"),
    ("EX-HN5", "lateral", "-"),
    ("EX-HN6", "lateral", "-"),
    ("EX-HN7", "lateral", "-"),
    ("EX-HN8", "lateral", "-"),
];

#[test]
fn every_standard_point_is_there_with_its_sides_and_page() {
    let atlas = atlas();
    let points: Vec<_> = atlas.targets.iter().filter(|t| t.kind == Kind::Point).collect();
    assert_eq!(points.len(), 57);
    for (code, sides, page) in POINTS {
        let point = points.iter().find(|p| p.id == *code).unwrap_or_else(|| panic!("{code} is missing"));
        assert_eq!(point.sides.word(), *sides, "{code}");
        if *page == "-" {
            assert!(point.source.contains("not in WHO 2008"), "{code}: {}", point.source);
        } else {
            let cited = format!("WHO 2008 p.{page}");
            let rest = point.source.strip_prefix(&cited);
            assert!(rest.is_some_and(|r| !r.starts_with(|c: char| c.is_ascii_digit())), "{code}: {}", point.source);
        }
        assert!(point.rule.as_ref().is_some_and(|rule| rule.len() > 20), "{code} has a rule");
    }
}

#[test]
fn points_in_the_orbit_the_mouth_and_over_great_vessels_are_not_for_the_hand() {
    let atlas = atlas();
    for code in ["ST1", "BL1", "EX-HN7", "ST9", "ST10", "ST11", "LI18", "SI17", "GV28", "CV22"] {
        let target = atlas.target(atlas.target_named(code).expect("a known point"));
        assert!(matches!(&target.shown, Shown::Never(reason) if reason.len() > 20), "{code}: {:?}", target.shown);
        assert!(target.techniques.is_empty(), "{code} has techniques");
    }
    // Beside great vessels, glands and the orbit only the weight of the hand.
    for code in ["ST12", "LI17", "SI16", "TE16", "CV23", "ST2", "GB1", "BL2", "EX-HN4", "TE23", "TE17", "TE22"] {
        let target = atlas.target(atlas.target_named(code).expect("a known point"));
        assert_eq!(target.pressure, Pressure::Featherlight, "{code}");
        assert!(target.caution.is_some(), "{code} carries no caution");
    }
}

#[test]
fn the_photograph_carries_what_landmarks_or_the_hairline_carry() {
    let atlas = atlas();
    let shown = |code: &str| atlas.target(atlas.target_named(code).expect("a known point")).shown.clone();
    for code in ["ST2", "BL2", "SI18", "ST8", "BL3", "BL4", "GB13", "GB15", "GV23", "GV24", "ST3", "GB14", "GV26"] {
        assert_eq!(shown(code), Shown::Photo, "{code}");
    }
    for code in ["TE17", "TE20", "GB12", "GB20", "GB7", "LI17", "SI19", "ST6", "GV20", "EX-HN6", "CV23", "GB21"] {
        assert_eq!(shown(code), Shown::Sketch, "{code}");
    }
}

#[test]
fn thirty_zones_and_every_way_ends_at_the_outlet_of_its_side() {
    let atlas = atlas();
    assert_eq!(atlas.zones.len(), 30);
    let outlet = atlas.zone_named("outlet").expect("the outlet");
    for (ix, zone) in atlas.zones.iter().enumerate() {
        for &side in zone.sides.each() {
            let way = atlas.way(ZoneIx(ix), side);
            if ZoneIx(ix) == outlet {
                assert!(way.is_empty());
                assert_eq!(zone.depth, 0);
                continue;
            }
            let ends: Vec<Side> = way.iter().filter(|(z, _)| *z == outlet).map(|(_, s)| *s).collect();
            match side {
                Side::Midline => assert_eq!(BTreeSet::from_iter(ends), [Side::Left, Side::Right].into(), "{}", zone.id),
                side => {
                    assert_eq!(ends, [side], "{}", zone.id);
                    assert_eq!(way.len(), zone.depth as usize, "{}", zone.id);
                    assert!(way.iter().all(|(_, s)| *s == side), "{} keeps to its side", zone.id);
                }
            }
        }
    }
    let target_of = |zone: &str| atlas.target(atlas.target_named(zone).expect("a zone is a target")).clone();
    for zone in &atlas.zones {
        let target = target_of(&zone.id);
        assert_eq!((target.kind, target.sides), (Kind::Zone, zone.sides), "{}", zone.id);
        assert!(!target.find.is_empty());
    }
}

/// The number that planning a routine rests on: how many sets of opened zones one side can have.
#[test]
fn fifty_one_sets_of_openings_a_side() {
    let atlas = atlas();
    // Zones that lie on some way of the left side, midline ones counted with it.
    let on_ways: BTreeSet<ZoneIx> = (0..atlas.zones.len())
        .flat_map(|ix| {
            let side = if atlas.zones[ix].sides == Sides::Midline { Side::Midline } else { Side::Left };
            atlas.way(ZoneIx(ix), side)
        })
        .map(|(zone, _)| zone)
        .collect();
    let ids: Vec<&str> = on_ways.iter().map(|z| atlas.zone(*z).id.as_str()).collect();
    assert_eq!(ids.len(), 8, "{ids:?}");
    let zones: Vec<ZoneIx> = on_ways.into_iter().collect();
    let closed = (0..1u32 << zones.len())
        .filter(|set| {
            let holds = |zone: ZoneIx| zones.iter().position(|z| *z == zone).is_some_and(|at| set & (1 << at) != 0);
            zones.iter().filter(|z| holds(**z)).all(|z| atlas.zone(*z).next_main.is_none_or(holds))
        })
        .count();
    assert_eq!(closed, 51);
}

#[test]
fn the_graph_holds_every_edge_read_in_gray_and_marks_the_rest() {
    let atlas = atlas();
    let rows = include_str!("data/gray_1918_edges.csv");
    let mut read = 0;
    for row in rows.lines().filter(|l| !l.starts_with('#')).skip(1) {
        let cells: Vec<&str> = row.splitn(3, ',').collect();
        let [from, to, page] = cells[..] else { panic!("{row}") };
        let edge = atlas.drainage.iter().find(|e| e.from == from && e.to == to);
        let edge = edge.unwrap_or_else(|| panic!("{from} to {to} is missing"));
        assert_eq!(edge.source, format!("Gray 1918 p.{page}"), "{from} to {to}");
        read += 1;
    }
    assert_eq!(read, 46);
    let others: Vec<_> = atlas.drainage.iter().filter(|e| !e.source.starts_with("Gray 1918 p.")).collect();
    assert_eq!(others.len() + read, atlas.drainage.len());
    for edge in others {
        let marked = ["from memory", "inference", "secondary"].iter().any(|mark| edge.source.contains(mark));
        assert!(marked, "{} to {}: {}", edge.from, edge.to, edge.source);
    }
}

#[test]
fn the_graph_is_acyclic_and_ends_at_the_venous_angles() {
    let atlas = atlas();
    let mut names: BTreeSet<&str> = atlas.drainage.iter().flat_map(|e| [e.from.as_str(), e.to.as_str()]).collect();
    // Take away, again and again, the names that lead nowhere any more; a circle would remain.
    let ends: BTreeSet<&str> =
        names.iter().filter(|n| !atlas.drainage.iter().any(|e| e.from == **n)).copied().collect();
    assert_eq!(ends, ["left_venous_angle", "right_venous_angle"].into());
    while !names.is_empty() {
        let before = names.len();
        let left = names.clone();
        names.retain(|n| atlas.drainage.iter().any(|e| e.from == *n && left.contains(e.to.as_str())));
        assert!(names.len() < before, "a circle among {names:?}");
    }
    for name in atlas.drainage.iter().flat_map(|e| [&e.from, &e.to]) {
        assert!(atlas.node_zones.iter().any(|n| n.node == *name), "{name} belongs to no place of the hand");
    }
}

/// 1 mmHg = 133.322 Pa; a gram on a scale = 0.00980665 N.
#[test]
fn grams_follow_from_the_pressure_classes_and_the_contact() {
    for tool in &atlas().tools {
        for (mmhg, grams) in [15.0, 30.0, 60.0].into_iter().zip(tool.grams) {
            let newtons = mmhg * 133.322 * f64::from(tool.contact_mm2) * 1e-6;
            let expected = (newtons / 0.009_806_65).round();
            assert_eq!(f64::from(grams), expected, "{} at {mmhg} mmHg", tool.id);
        }
    }
    // Reference: an edge of 1 cm2 reaches 30 mmHg at about 41 g.
    let atlas = atlas();
    assert_eq!(atlas.tool(atlas.tool_named("edge_stone").expect("a stone")).grams[1], 41);
}

#[test]
fn the_first_technique_of_every_target_reaches_its_full_measure() {
    let atlas = atlas();
    for target in &atlas.targets {
        let Some(&first) = target.techniques.first() else { continue };
        let technique = atlas.technique(first);
        match target.kind {
            Kind::Point => assert!(technique.seconds.1 >= atlas.settings.full_point_s, "{}", target.id),
            Kind::Zone => assert!(technique.seconds.1 >= atlas.settings.full_zone_s, "{}", target.id),
            Kind::Line => {
                let laps = target.laps.expect("a line has laps");
                assert!(laps.most >= atlas.settings.full_line_laps, "{}", target.id);
                assert_eq!(laps.lap_s % 5, 0, "{}", target.id);
            }
        }
    }
}

#[test]
fn nothing_round_the_eye_is_more_than_featherlight_or_takes_an_edge() {
    let atlas = atlas();
    let eye = &atlas.zone_set("eye").expect("the set").zones;
    let mut seen = 0;
    for target in atlas.targets.iter().filter(|t| t.crosses.iter().any(|z| eye.contains(z))) {
        seen += 1;
        assert_eq!(target.pressure, Pressure::Featherlight, "{}", target.id);
        for technique in target.techniques.iter().map(|ix| atlas.technique(*ix)) {
            let hands = technique.tools.iter().all(|tool| atlas.tool(*tool).id == "hands");
            assert!(hands, "{} takes {} to the eye", target.id, technique.id);
        }
        if !matches!(target.shown, Shown::Never(_)) {
            assert!(target.caution.is_some(), "{} carries no caution", target.id);
        }
    }
    assert!(seen >= 12, "{seen}");
}

#[test]
fn nothing_on_the_neck_is_pressed_or_worked_on_both_sides_at_once() {
    let atlas = atlas();
    for target in &atlas.targets {
        let neck = target.crosses.iter().any(|z| atlas.zone(*z).neck);
        if !neck {
            continue;
        }
        assert!(target.pressure <= Pressure::Light, "{}", target.id);
        let nape = atlas.zone(target.zone).id == "nape";
        assert!(nape || target.pressure == Pressure::Featherlight, "{}", target.id);
        if !matches!(target.shown, Shown::Never(_)) {
            assert!(target.caution.is_some(), "{} carries no caution", target.id);
            let midline_below_chin = atlas.zone(target.zone).id == "below_chin";
            assert!(target.sides == Sides::Lateral || midline_below_chin, "{}", target.id);
        }
    }
}

#[test]
fn openings_and_closings_are_featherlight_dry_and_always_possible_by_hand() {
    let atlas = atlas();
    for zone in &atlas.zones {
        for ix in [zone.open_technique, zone.close_technique] {
            let technique = atlas.technique(ix);
            assert!(!technique.glides && technique.pressures.contains(&Pressure::Featherlight), "{}", zone.id);
            assert!(
                technique.tools.iter().any(|t| atlas.tool(*t).id == "hands"),
                "{}: hands are always at hand",
                zone.id
            );
        }
        assert_eq!((zone.open_s, zone.close_s), (15, 5), "{}", zone.id);
    }
    let outlet = atlas.zone(atlas.zone_named("outlet").expect("the outlet"));
    let rest = atlas.technique(outlet.open_technique);
    assert_eq!(rest.id, "palm_rest");
    let with: Vec<&str> = rest.tools.iter().map(|t| atlas.tool(*t).id.as_str()).collect();
    assert_eq!(with, ["hands"], "no edge over the great vessels and the lung's apex");
}

#[test]
fn the_ten_concerns_and_what_serves_them() {
    let atlas = atlas();
    for id in [
        "tight_jaw",
        "shadows_under_eyes",
        "puffy_lids",
        "tired_forehead",
        "lines_between_brows",
        "heavy_nose",
        "neck_shoulder_tension",
        "dull_look",
        "heavy_lower_face",
        "before_sleep",
    ] {
        assert!(atlas.concern_named(id).is_some(), "{id}");
    }
    for concern in &atlas.concerns {
        let links = &concern.links;
        assert!((8..=16).contains(&links.len()), "{}: {} links", concern.id, links.len());
        assert!(links.iter().any(|l| l.weight >= 9), "{} has a centre", concern.id);
        // What the five questions alone open: featherlight work on face and neck-side skin.
        let door = |ix: TargetIx| {
            let target = atlas.target(ix);
            let gentle = |t: &plan::atlas::TechniqueIx| atlas.technique(*t).pressures.contains(&Pressure::Featherlight);
            target.crosses.iter().all(|z| atlas.zone(*z).door) && target.techniques.iter().any(gentle)
        };
        let open = links.iter().filter(|l| door(l.target)).count();
        assert!(open >= 5, "{}: only {open} links are open at the door", concern.id);
        for link in links.iter().filter(|l| l.grade == Grade::Trial) {
            let id = &atlas.target(link.target).id;
            assert!(link.source.contains("grade low"), "{} {id}: {}", concern.id, link.source);
            assert!(link.source.chars().any(|c| c.is_ascii_digit()), "{} {id} names its trial", concern.id);
        }
    }
}

/// What is said on pages and aloud says what the hand does and where, never that it does something to the body.
#[test]
fn our_own_words_promise_nothing() {
    let atlas = atlas();
    let forbidden = [
        "drain",
        "detox",
        "toxin",
        "lymph",
        "heals",
        "cure",
        "stimulat",
        "circulation",
        "lift your",
        "lifts",
        "remov",
        "clears",
        "treats",
        "treatment",
        "opens the",
        "rejuven",
        "!",
        "energy",
        "meridian",
        "relieves",
        "improves",
    ];
    let mut said: Vec<(String, &str)> = Vec::new();
    for t in &atlas.targets {
        said.extend([&t.name, &t.find].map(|s| (t.id.clone(), s.as_str())));
        said.extend(
            t.rule.iter().chain(&t.caution).chain(&t.direction).chain(&t.dwell).map(|s| (t.id.clone(), s.as_str())),
        );
    }
    for t in &atlas.techniques {
        said.extend([&t.name, &t.says, &t.direction].map(|s| (t.id.clone(), s.as_str())));
        said.extend(t.support.iter().chain(&t.other_hand).chain(&t.never).map(|s| (t.id.clone(), s.as_str())));
    }
    said.extend(atlas.tools.iter().flat_map(|t| [(t.id.clone(), t.name.as_str()), (t.id.clone(), t.care.as_str())]));
    said.extend(
        atlas.concerns.iter().flat_map(|c| [(c.id.clone(), c.name.as_str()), (c.id.clone(), c.known.as_str())]),
    );
    assert!(said.len() > 400, "{}", said.len());
    for (id, text) in said {
        for word in forbidden {
            assert!(!text.to_lowercase().contains(word), "{id} says \"{word}\": {text}");
        }
    }
}
