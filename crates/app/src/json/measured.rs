//! The answers of the measurement read back, as they are kept with a visit.

use face::{Area, Outline, Pixel};
use measure::{Gate, GateName, Leading, Mode, Shadow, Value};
use serde_json::Value as Json;
use vocab::Side;

use crate::measuring::figures::{Figures, Looked, LookedSide, SideFigures};

/// What is kept of one photograph.
pub struct Photo {
    /// What a page shows of it; or why it could not be measured, in words.
    pub looked: Result<Looked, String>,
    /// Whether it was said to be a mirror image.
    pub mirrored: bool,
}

/// Reads the answer for a photograph; none where it is not one.
pub fn photo(text: &str) -> Option<Photo> {
    let json: Json = serde_json::from_str(text).ok()?;
    let mirrored = json["mirrored"].as_bool().unwrap_or(false);
    if let Some(why) = json["error"].as_str() {
        return Some(Photo { looked: Err(why.to_owned()), mirrored });
    }
    let picture = [0, 1].map(|k| json["picture"][k].as_u64().and_then(|v| u32::try_from(v).ok()));
    let picture = [picture[0]?, picture[1]?];
    let width = f64::from(picture[0]);
    let over = |x: f64| if mirrored { width - x } else { x };
    let place = |p: &Json| Some(Pixel::new(over(p[0].as_f64()?), p[1].as_f64()?));
    let [x, y, w, h] = [0, 1, 2, 3].map(|k| json["face_px"][k].as_f64());
    let (x, y, w, h) = (x?, y?, w?, h?);
    let around = [if mirrored { width - x - w } else { x }, y, w, h];
    let side = |side: Side| {
        let s = &json["sides"][if side == Side::Left { "left" } else { "right" }];
        let shadow = shadow(&s["shadow"], &s["u95"])?;
        let outline = |key: &str, area| {
            let corners = s["outlines_px"][key].as_array()?.iter().map(place).collect::<Option<_>>()?;
            Some(Outline { area, side, corners })
        };
        let outlines = vec![outline("band", Area::Band)?, outline("cheek", Area::Cheek)?];
        Some(LookedSide { side, outlines, de: shadow.de, l: shadow.l })
    };
    let quad = |q: &Json| Some([place(&q[0])?, place(&q[1])?, place(&q[2])?, place(&q[3])?]);
    let gates = json["gates"].as_array()?.iter().filter_map(|g| {
        let name = GateName::ALL.into_iter().find(|n| Some(n.name()) == g["name"].as_str())?;
        // The verdict that was given stays, whatever the limits are today.
        Some(Gate {
            name,
            value: g["value"].as_f64().unwrap_or(f64::NAN),
            limit: g["limit"].as_f64()?,
            passed: g["passed"].as_bool()?,
        })
    });
    let looked = Looked {
        picture,
        around,
        gates: gates.collect(),
        sides: side(Side::Right).zip(side(Side::Left)).map(|(r, l)| [r, l]),
        patches: json["card_px"].as_array().into_iter().flatten().filter_map(quad).collect(),
        warnings: words(&json["warnings"]),
        profile_assumed: json["profile_assumed"].as_bool().unwrap_or(false),
    };
    Some(Photo { looked: Ok(looked), mirrored })
}

/// Reads the answer for a visit; none where it has no values.
pub fn visit(text: &str) -> Option<Figures> {
    let json: Json = serde_json::from_str(text).ok()?;
    let side = |key: &str| {
        let s = &json["sides"][key];
        let leading = [Leading::Brown, Leading::BlueRed, Leading::Relief, Leading::Mixed, Leading::CannotTell];
        let height = |name: &'static str| Some((name, value(&s["heights_mm"][name])?));
        Some(SideFigures {
            shadow: shadow(&s["shadow"], &s["u95"])?,
            as_photographed: shadow(&s["as_photographed"], &s["as_photographed"]["u95"])?,
            parts: ["brown", "blue_red", "relief"].map(|k| value(&s[k])),
            leading: leading.into_iter().find(|l| Some(l.name()) == s["leading"].as_str())?,
            spread: s["spread"].as_f64(),
            heights: ["brow", "lid_opening", "mouth_corner", "jaw"].into_iter().filter_map(height).collect(),
            sclera: value(&s["sclera"]["redness"]).zip(value(&s["sclera"]["yellowness"])).map(|(r, y)| [r, y]),
        })
    };
    Some(Figures {
        photographs: usize::try_from(json["photographs"].as_u64()?).ok()?,
        mode: if json["mode"].as_str()? == "referenced" { Mode::Referenced } else { Mode::Relative },
        sides: [side("right")?, side("left")?],
        apart: value(&json["difference"]["dE00"])?,
        warnings: words(&json["warnings"]),
    })
}

fn value(json: &Json) -> Option<Value> {
    Some(Value { value: json["value"].as_f64()?, u95: json["u95"].as_f64()? })
}

fn shadow(values: &Json, u95: &Json) -> Option<Shadow> {
    let of = |key: &str| Some(Value { value: values[key].as_f64()?, u95: u95[key].as_f64()? });
    Some(Shadow { l: of("dL")?, a: of("da")?, b: of("db")?, de: of("dE00")?, ita: of("dITA") })
}

fn words(json: &Json) -> Vec<String> {
    json.as_array().into_iter().flatten().filter_map(|w| w.as_str().map(str::to_owned)).collect()
}
