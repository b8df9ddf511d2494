//! The places of the drawn points against the relations of WHO Western Pacific Region, *WHO Standard Acupuncture Point
//! Locations*, 2008: above, between, level with, thirds. Measured from landmarks of the canonical surface and from other
//! points, not by the rule that placed the point. Tolerances in centimetres.

use face::{Drawing, Spot, vertex};
use vocab::Side;

fn at(code: &str) -> Spot {
    let seen = Drawing::built_in().see(code, Side::Left).unwrap_or_else(|| panic!("{code} is not drawn"));
    seen.at
}

fn landmark(number: usize) -> Spot {
    vertex(number).unwrap_or_else(|| panic!("no landmark {number}"))
}

/// The middle of the person's left eye opening: mean of its sixteen rim landmarks.
fn pupil() -> Spot {
    let rim = [263, 466, 388, 387, 386, 385, 384, 398, 362, 249, 390, 373, 374, 380, 381, 382];
    rim.iter().map(|n| landmark(*n)).fold(Spot::default(), |a, b| a + b) * (1.0 / 16.0)
}

/// The midpoint between the inner ends of the brows.
fn between_brows() -> Spot {
    (landmark(336) + landmark(285) + landmark(107) + landmark(55)) * 0.25
}

/// One B-cun upright on the forehead: GV24 lies 3.5 above the midpoint between the brows (p. 215).
fn cun_up() -> f64 {
    (at("GV24").y - between_brows().y) / 3.5
}

/// One B-cun across: ST8 lies 4.5 from the midline (p. 49).
fn cun_across() -> f64 {
    at("ST8").x / 4.5
}

#[track_caller]
fn near(what: &str, value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{what}: {value:.2}, expected {expected:.2} within {within}");
}

#[track_caller]
fn level(a: &str, b: &str) {
    near(&format!("{a} is level with {b}"), at(a).y, at(b).y, 0.1);
}

#[track_caller]
fn above(a: &str, b: &str) {
    assert!(at(a).y > at(b).y, "{a} lies above {b}: {:?} {:?}", at(a), at(b));
    near(&format!("{a} is above {b} on one vertical"), at(a).x, at(b).x, 0.3);
}

#[test]
fn the_persons_left_is_at_plus_x_in_front_and_minus_x_behind() {
    let drawing = Drawing::built_in();
    assert_eq!(drawing.points.len(), 57);
    for (code, place) in &drawing.points {
        let midline = code.starts_with("GV") || code.starts_with("CV") || code == "EX-HN3";
        let sign = if place.view.front() { 1.0 } else { -1.0 };
        assert!(if midline { place.at.x.abs() < 1e-9 } else { place.at.x * sign > 0.3 }, "{code}: {:?}", place.at);
        let right = drawing.see(code, Side::Right).map(|s| s.at);
        assert_eq!(right, Some(Spot::new(if midline { 0.0 } else { -place.at.x }, place.at.y)), "{code} mirrors");
    }
}

#[test]
fn points_on_the_pupil_vertical() {
    // ST1 46, ST2 46, ST3 47, GB14 178, GB15 179; EX-HN4 from secondary sources.
    for code in ["ST1", "ST2", "ST3", "GB14", "GB15", "EX-HN4"] {
        near(&format!("{code} lies on the pupil vertical"), at(code).x, pupil().x, 0.12);
    }
    let down: Vec<f64> = ["GB15", "GB14", "EX-HN4", "ST1", "ST2", "ST3"].map(|c| at(c).y).to_vec();
    assert!(down.windows(2).all(|w| w[0] > w[1]), "one below the other: {down:?}");
    // ST1: between the eyeball and the lower rim: below the lower lid, above ST2.
    assert!(at("ST1").y < landmark(374).y && at("ST1").y > landmark(450).y);
    // ST2: on the maxilla below the rim; ST3: level with the lower border of the wing of the nose.
    assert!(at("ST2").y < landmark(450).y - 0.2 && at("ST2").y > landmark(425).y);
    near("ST3 is level with the lower border of the wing", at("ST3").y, landmark(327).y, 0.15);
}

#[test]
fn the_front_hairline_row() {
    // GV24 215, ST8 49, BL3 and BL4 101, GB13 178, GB15 179, GV23 215.
    let (gv24, st8) = (at("GV24"), at("ST8"));
    let share = |code: &str| (at(code).x - gv24.x) / (st8.x - gv24.x);
    near("BL4 at one third from GV24 to ST8", share("BL4"), 1.0 / 3.0, 0.02);
    near("GB13 at two thirds", share("GB13"), 2.0 / 3.0, 0.02);
    near("GB15 midway", share("GB15"), 0.5, 0.02);
    near("BL3 midway between GV24 and BL4", at("BL3").x, at("BL4").x / 2.0, 0.05);
    near("BL4 1.5 B-cun from the midline", at("BL4").x, 1.5 * cun_across(), 0.05);
    near("GB13 3 B-cun from the midline", at("GB13").x, 3.0 * cun_across(), 0.05);
    near("GV23 is half a B-cun above GV24", at("GV23").y - gv24.y, 0.5 * cun_up(), 0.08);
    let row: Vec<f64> = ["GV24", "BL3", "BL4", "GB15", "GB13", "ST8"].map(|c| at(c).y).to_vec();
    assert!(row.windows(2).all(|w| w[0] >= w[1]), "the row follows the hairline down: {row:?}");
    assert!(at("BL3").y > landmark(10).y, "the hairline lies above landmark 10");
    assert!(at("GV20").y > at("GV23").y);
    // GB4: a quarter of the way from ST8 to GB7 (173).
    near("GB4 at a quarter", st8.to(at("GB4")) / st8.to(at("GB7")), 0.25, 0.05);
}

#[test]
fn forehead_and_brow() {
    // GB14: 1 B-cun above the brow (178).
    let brow = (landmark(334) + landmark(282)) * 0.5;
    near("GB14 one B-cun above the brow", (at("GB14").y - brow.y) / cun_up(), 1.0, 0.1);
    near("EX-HN3 between the brows", at("EX-HN3").y, between_brows().y, 0.1);
    // BL2 at the inner end of the brow, above BL1 (100); TE23 at the outer end, above GB1 (169).
    near("BL2 at the inner end", at("BL2").to((landmark(336) + landmark(285)) * 0.5), 0.0, 0.35);
    near("TE23 at the outer end", at("TE23").to((landmark(300) + landmark(276)) * 0.5), 0.0, 0.35);
    above("BL2", "BL1");
    assert!(at("TE23").y > at("GB1").y && (at("TE23").x - at("GB1").x).abs() < 0.6);
    // EX-HN4 lies between BL2 and TE23.
    assert!(at("BL2").x < at("EX-HN4").x && at("EX-HN4").x < at("TE23").x);
    assert!(at("EX-HN4").y < landmark(334).y && at("EX-HN4").y > landmark(282).y, "within the brow");
    // EX-HN5 behind the middle between brow end and outer corner.
    let middle = (at("TE23") + landmark(263)) * 0.5;
    assert!(at("EX-HN5").x > middle.x + 1.0 && (at("EX-HN5").y - middle.y).abs() < 0.3);
}

#[test]
fn round_the_eye() {
    // BL1: a tenth of a B-cun inward and up from the inner corner (100); GB1: half a B-cun outside the outer (172).
    let inward = landmark(362) - at("BL1");
    near("BL1 inward", inward.x, 0.1 * cun_across(), 0.05);
    near("BL1 up", -inward.y, 0.1 * cun_up(), 0.05);
    near("GB1 outward", at("GB1").x - landmark(263).x, 0.5 * cun_across(), 0.05);
    near("GB1 is level with the outer corner", at("GB1").y, landmark(263).y, 0.05);
    // EX-HN7: at the outer quarter of the lower rim.
    let share = (at("EX-HN7").x - landmark(362).x) / (landmark(263).x - landmark(362).x);
    near("EX-HN7 at three quarters", share, 0.75, 0.05);
}

#[test]
fn nose_and_mouth() {
    // LI19: level with GV26, half a B-cun lateral (43); LI20: level with the middle of the wing's border (43).
    level("LI19", "GV26");
    near("LI19 half a B-cun lateral", at("LI19").x, 0.5 * cun_across(), 0.05);
    near("LI20 is level with the middle of the wing", at("LI20").y, (landmark(279).y + landmark(294).y) * 0.5, 0.15);
    assert!(at("LI20").x > landmark(358).x && at("LI20").x < landmark(358).x + 0.6, "in the fold beside the wing");
    // GV25 the tip (216), GV26 on the philtrum (216), GV27 on the upper lip (217), GV28 inside, CV24 in the fold (231).
    let down: Vec<f64> = ["GV25", "GV26", "GV27", "GV28", "CV24"].map(|c| at(c).y).to_vec();
    assert!(down.windows(2).all(|w| w[0] > w[1]), "{down:?}");
    assert!(at("GV26").y < landmark(2).y && at("GV26").y > landmark(0).y, "on the philtrum");
    assert!(at("GV27").y < landmark(0).y && at("GV27").y > landmark(13).y, "on the upper lip");
    assert!(at("CV24").y < landmark(17).y && at("CV24").y > landmark(200).y, "between lower lip and chin");
    // ST4: beside the angle of the mouth (47), on its level.
    near("ST4 is level with the angle of the mouth", at("ST4").y, landmark(291).y, 0.05);
    assert!(at("ST4").x > landmark(291).x + 0.4 && at("ST4").x < landmark(291).x + 1.2);
    assert!(at("EX-HN8").y > at("LI20").y && at("EX-HN8").x < at("LI20").x, "at the upper end of the fold");
}

#[test]
fn cheek_jaw_and_before_the_ear() {
    // GB3 directly above ST7 (173), the cheekbone's arch between them.
    above("GB3", "ST7");
    near("on one vertical", at("GB3").x, at("ST7").x, 0.05);
    // SI18 on the vertical of the outer corner (96), below the cheekbone.
    near("SI18 below the outer corner", at("SI18").x, landmark(263).x, 0.1);
    assert!(at("SI18").y < at("ST2").y);
    // SI19 between TE21 above and GB2 below (97), all before the ear, level with the tragus.
    above("TE21", "SI19");
    above("SI19", "GB2");
    near("SI19 midway", at("SI19").y, (at("TE21").y + at("GB2").y) * 0.5, 0.15);
    let tragus_level = landmark(454).y;
    near("SI19 is level with the middle of the ear", at("SI19").y, tragus_level, 0.3);
    for code in ["SI19", "TE21", "GB2"] {
        assert!(at(code).x < landmark(454).x && at(code).x > at("ST7").x, "{code} between cheek and ear");
    }
    // ST5 on the lower border of the jaw (48), before the angle; ST6 above and before the angle, a finger's breadth.
    let angle = (landmark(288) + landmark(397)) * 0.5;
    assert!(at("ST5").x < angle.x && at("ST5").y < angle.y);
    near("ST5 at the border", at("ST5").to(landmark(365)), 0.45, 0.3);
    let from_angle = at("ST6") - angle;
    assert!(from_angle.x < 0.0 && from_angle.y > 0.0, "forward and up: {from_angle:?}");
    near("a finger's breadth", from_angle.length(), 1.3, 0.6);
}

#[test]
fn ear_and_hair_before_it() {
    // TE20 and GB7 level with the top of the ear (167, 175); TE22 before the root of the ear, above TE21 (168).
    near("TE20 at the top of the ear", at("TE20").to(at("EX-HN6")), 0.6, 0.2);
    near("GB7 is level with the top of the ear", at("GB7").y, at("EX-HN6").y, 0.2);
    assert!(at("GB7").x < at("TE20").x);
    assert!(at("TE22").y > at("TE21").y && at("TE22").y < at("EX-HN6").y);
    // TE17 behind the lobe (166): below GB2, further back.
    assert!(at("TE17").y < at("GB2").y && at("TE17").x > at("GB2").x);
}

#[test]
fn neck_and_shoulder() {
    // One level at the upper border of the thyroid cartilage: ST9, LI18, SI16 (50, 42, 95), from front to back.
    level("ST9", "LI18");
    level("LI18", "SI16");
    assert!(at("ST9").x < at("LI18").x && at("LI18").x < at("SI16").x);
    // One level at the cricoid cartilage: ST10, LI17 (50, 42), below the first.
    level("ST10", "LI17");
    assert!(at("ST10").y < at("ST9").y && at("LI17").y < at("LI18").y && at("ST10").x < at("LI17").x);
    // ST11 above the inner collarbone, below ST9; ST12 4 B-cun out, further than ST11 (51).
    assert!(at("ST11").y < at("ST10").y && at("ST12").x > 2.0 * at("ST11").x);
    // CV23 above the thyroid cartilage, CV22 in the hollow between the collarbones (230, 231).
    assert!(at("CV23").y > at("ST9").y && at("CV23").y < landmark(152).y && at("CV22").y < at("ST11").y);
    // SI17 behind the angle of the jaw (96).
    assert!(at("SI17").x > (landmark(288).x + landmark(397).x) * 0.5);
    // GB20 between midline and GB12 (181, 177), TE16 below GB12; GB21 midway between neck and shoulder (182).
    assert!(at("GB20").x.abs() < at("GB12").x.abs() && at("TE16").y < at("GB12").y);
    near("GB20 is level with the mastoid", at("GB20").y, at("GB12").y, 0.4);
    assert!(at("GB21").y < at("SI16").y && at("GB21").x > at("SI16").x);
}
