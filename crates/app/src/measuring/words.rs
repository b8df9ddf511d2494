//! A measurement in words: what each gate asks for, what leads, what to mind.

use colour::Tone;
use measure::{Gate, GateName, Leading, Measured, Mode, Value, Warning};
use vocab::Side;

use crate::catalogue::{fill, text};

/// What a gate looks at, how its value is written, and what to do so that it is passed.
struct GateWords {
    name: &'static str,
    unit: &'static str,
    advice: &'static str,
    decimals: usize,
    /// Shares are written in per cent.
    times: f64,
}

fn gate_words(name: GateName) -> GateWords {
    let of = |name, unit, advice, decimals, times| GateWords {
        name: text(name),
        unit: text(unit),
        advice: text(advice),
        decimals,
        times,
    };
    match name {
        GateName::Yaw => of("gate.yaw", "gate.degrees", "gate.yaw_do", 0, 1.0),
        GateName::Pitch => of("gate.pitch", "gate.degrees", "gate.pitch_do", 0, 1.0),
        GateName::Roll => of("gate.roll", "gate.degrees", "gate.roll_do", 0, 1.0),
        GateName::IrisPx => of("gate.iris_px", "gate.pixels", "gate.iris_px_do", 0, 1.0),
        GateName::Sharpness => of("gate.sharpness", "gate.mm", "gate.sharpness_do", 2, 1.0),
        GateName::Clipped => of("gate.clipped", "gate.percent", "gate.clipped_do", 0, 100.0),
        GateName::Exposure => of("gate.exposure", "gate.of_255", "gate.exposure_do", 0, 1.0),
        GateName::Evenness => of("gate.evenness", "gate.ln", "gate.evenness_do", 2, 1.0),
        GateName::EyesOpen => of("gate.eyes_open", "gate.percent", "gate.eyes_open_do", 0, 100.0),
        GateName::Mouth => of("gate.mouth", "gate.percent", "gate.mouth_do", 0, 100.0),
        GateName::LeftOut => of("gate.left_out", "gate.percent", "gate.left_out_do", 0, 100.0),
        GateName::Skin => of("gate.skin", "gate.of_1", "gate.skin_do", 2, 1.0),
        GateName::Cast => of("gate.cast", "gate.ln", "gate.cast_do", 2, 1.0),
        GateName::CardFlat => of("gate.card_flat", "gate.degrees", "gate.card_flat_do", 0, 1.0),
        GateName::CardFit => of("gate.card_fit", "gate.de", "gate.card_fit_do", 2, 1.0),
    }
}

/// What a gate looks at.
pub fn gate_title(name: GateName) -> &'static str {
    gate_words(name).name
}

/// What to do so that the gate is passed.
pub fn advice(name: GateName) -> &'static str {
    gate_words(name).advice
}

/// A gate's value against its limit: "14 degrees, at most 12".
pub fn gate_value(gate: &Gate) -> String {
    let words = gate_words(gate.name);
    let (_, at_least) = gate.name.limit();
    let number = |v: f64| format!("{:.*}", words.decimals, v * words.times);
    // A value that rounds to its limit is written finer, so that it does not contradict the verdict.
    let finer = |v: f64| format!("{:.*}", words.decimals + 2, v * words.times);
    let value = if number(gate.value) == number(gate.limit) { finer(gate.value) } else { number(gate.value) };
    if !gate.value.is_finite() {
        return text("gate.unseen").to_owned();
    }
    let key = if at_least { "gate.at_least" } else { "gate.at_most" };
    fill(key, &[("value", &value), ("unit", &words.unit), ("limit", &number(gate.limit))])
}

/// How the colours were read, in a sentence.
pub fn mode(mode: Mode) -> &'static str {
    match mode {
        Mode::Referenced => text("measure.referenced"),
        Mode::Relative => text("measure.relative"),
    }
}

/// The word of a mode in answers.
pub fn mode_word(mode: Mode) -> &'static str {
    match mode {
        Mode::Referenced => "referenced",
        Mode::Relative => "relative",
    }
}

/// What leads, in a sentence that describes and does not diagnose.
pub fn leading(leading: Leading) -> &'static str {
    match leading {
        Leading::Brown => text("measure.leads_brown"),
        Leading::BlueRed => text("measure.leads_blue_red"),
        Leading::Relief => text("measure.leads_relief"),
        Leading::Mixed => text("measure.leads_mixed"),
        Leading::CannotTell => text("measure.leads_unknown"),
    }
}

/// A skin class.
pub fn tone(tone: Tone) -> &'static str {
    match tone {
        Tone::VeryLight => text("measure.very_light"),
        Tone::Light => text("measure.light"),
        Tone::Intermediate => text("measure.intermediate"),
        Tone::Tan => text("measure.tan"),
        Tone::Brown => text("measure.brown"),
        Tone::Dark => text("measure.dark"),
    }
}

fn side(side: Side) -> &'static str {
    if side == Side::Left { text("measure.on_left") } else { text("measure.on_right") }
}

/// What to mind of a measurement, and the reason of everything that has no value.
pub fn warnings(measured: &Measured) -> Vec<String> {
    // That a card's error is not known is said where the card is read.
    let mut said: Vec<String> = measured
        .warnings
        .iter()
        .map(|w| match w {
            Warning::ToneEstimated(class) => fill("measure.tone_guessed", &[("tone", &tone(*class))]),
            Warning::LooksMirrored => text("map.looks_mirrored").to_owned(),
            Warning::ScaleUnclear => text("map.iris_unclear").to_owned(),
            Warning::LidUnclear(on) => fill("measure.lid_unclear", &[("side", &side(*on))]),
        })
        .collect();
    let failed: Vec<&str> = measured.gates.iter().filter(|g| !g.passed).map(|g| gate_title(g.name)).collect();
    let Some(sides) = &measured.sides else {
        let why = crate::catalogue::listed(&failed);
        said.push(if failed.is_empty() {
            text("measure.no_areas").to_owned()
        } else {
            fill("measure.refused", &[("why", &why)])
        });
        return said;
    };
    if !failed.is_empty() {
        said.push(fill("measure.past_gates", &[("why", &crate::catalogue::listed(&failed))]));
    }
    if sides.iter().any(|s| s.brown.is_none()) {
        said.push(text("measure.no_brown").to_owned());
    }
    if sides.iter().any(|s| s.shadow.ita.is_none() || s.as_photographed.ita.is_none()) {
        said.push(text("measure.no_ita").to_owned());
    }
    match measured.mode {
        Mode::Relative if measured.sclera_difference.is_some() => said.push(text("measure.sclera_relative").to_owned()),
        _ if sides.iter().any(|s| s.sclera.is_none()) => said.push(text("measure.sclera_unseen").to_owned()),
        _ => {}
    }
    if sides.iter().any(|s| s.thirds.iter().any(Option::is_none)) {
        said.push(text("measure.no_third").to_owned());
    }
    said
}

/// A value with the half width of its interval: "−4.2 ± 0.9".
pub fn value(v: Value, decimals: usize) -> String {
    let number = format!("{:.decimals$}", v.value.abs());
    let zero = number.chars().all(|c| c == '0' || c == '.');
    let sign = if v.value < 0.0 && !zero { "\u{2212}" } else { "" };
    format!("{sign}{number} ± {:.decimals$}", v.u95)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_gate_has_words_and_a_value_that_does_not_contradict_itself() {
        for name in GateName::ALL {
            assert!(advice(name).len() > 30 && gate_title(name).len() > 3, "{}", name.name());
            let (limit, at_least) = name.limit();
            let by = if at_least { -1e-4 } else { 1e-4 } * limit.max(0.1);
            let said = gate_value(&Gate::of(name, limit + by));
            let mut numbers =
                said.split(|c: char| !c.is_ascii_digit() && c != '.').filter(|w| w.parse::<f64>().is_ok());
            assert_ne!(numbers.next(), numbers.next_back(), "{said}");
            assert_eq!(gate_value(&Gate::of(name, f64::NAN)), text("gate.unseen"));
        }
    }

    #[test]
    fn a_value_is_never_without_its_interval_and_zero_has_no_sign() {
        assert_eq!(value(Value { value: -4.23, u95: 0.91 }, 1), "\u{2212}4.2 ± 0.9");
        assert_eq!(value(Value { value: -0.04, u95: 1.0 }, 1), "0.0 ± 1.0");
    }
}
