//! What a frame is asked for: the present step and the next, from the address.

use plan::atlas::{Atlas, Shown, Target};
use sketch::Mark;
use vocab::{Movement, Pressure, Side};

/// A step to be drawn.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    pub target: &'a Target,
    pub side: Side,
    pub mark: Mark,
    pub pressure: Pressure,
    pub movement: Movement,
}

/// The present step and the next.
#[derive(Clone, Debug, Default)]
pub struct Ask<'a> {
    pub now: Option<Asked<'a>>,
    pub next: Option<Asked<'a>>,
}

/// What is not known: the field that says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Unknown(pub &'static str);

impl<'a> Ask<'a> {
    /// Reads an address's query: `target`, `side`, `mark`, `pressure` (0 to 2), `movement`; the same with `next_` before it.
    /// Without a target nothing is drawn, only looked at.
    pub fn read(atlas: &'a Atlas, query: &str) -> Result<Ask<'a>, Unknown> {
        let fields: Vec<(String, String)> =
            form_urlencoded::parse(query.as_bytes()).map(|(n, v)| (n.into_owned(), v.into_owned())).collect();
        let get = |name: &str| fields.iter().find(|(n, v)| n == name && !v.is_empty()).map(|(_, v)| v.as_str());
        let now = [get("target"), get("side"), get("mark"), get("pressure"), get("movement")];
        let next = [get("next_target"), get("next_side"), get("next_mark"), get("next_pressure"), get("next_movement")];
        Ok(Ask { now: one(atlas, now)?, next: one(atlas, next)? })
    }
}

fn one<'a>(
    atlas: &'a Atlas,
    [target, side, mark, pressure, movement]: [Option<&str>; 5],
) -> Result<Option<Asked<'a>>, Unknown> {
    let Some(id) = target else { return Ok(None) };
    let target = atlas.target_named(id).map(|ix| atlas.target(ix)).ok_or(Unknown("target"))?;
    // What is not for the hand is shown to nobody as a place to touch.
    if matches!(target.shown, Shown::Never(_)) {
        return Err(Unknown("target"));
    }
    let each = target.sides.each();
    let side = match side {
        None => each.first().copied().unwrap_or(Side::Midline),
        Some(word) => Side::from_word(word).ok_or(Unknown("side"))?,
    };
    let side = if each == [Side::Midline] { Side::Midline } else { side };
    if side == Side::Midline && each != [Side::Midline] {
        return Err(Unknown("side"));
    }
    let usual = || target.techniques.first().map_or("hold", |ix| atlas.technique(*ix).mark.as_str());
    let mark = Mark::from_word(mark.unwrap_or_else(usual)).ok_or(Unknown("mark"))?;
    let pressure = match pressure {
        None => target.pressure,
        Some("0") => Pressure::Featherlight,
        Some("1") => Pressure::Light,
        Some("2") => Pressure::Firm,
        Some(_) => return Err(Unknown("pressure")),
    };
    let movement = movement.map_or(Some(Movement::Work), Movement::from_word).ok_or(Unknown("movement"))?;
    Ok(Some(Asked { target, side, mark, pressure, movement }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_is_read_from_the_address() {
        let atlas = Atlas::built_in();
        let check = |query: &str, expected: Result<Option<(&str, Side)>, Unknown>| {
            let got = Ask::read(&atlas, query).map(|a| a.now.map(|s| (s.target.id.clone(), s.side)));
            let got = got.as_ref().map(|s| s.as_ref().map(|(id, side)| (id.as_str(), *side)));
            assert_eq!(got, expected.as_ref().map(|s| *s), "{query}");
        };
        check("", Ok(None));
        check("target=", Ok(None));
        check("target=ST6&side=left", Ok(Some(("ST6", Side::Left))));
        check("target=ST6&side=both&mark=circles&pressure=1&movement=work", Ok(Some(("ST6", Side::Both))));
        check("target=GV26&side=left", Ok(Some(("GV26", Side::Midline))));
        check("target=ST6&side=midline", Err(Unknown("side")));
        check("target=ST6&side=up", Err(Unknown("side")));
        check("target=nothing", Err(Unknown("target")));
        check("target=ST6&mark=hammer", Err(Unknown("mark")));
        check("target=ST6&pressure=9", Err(Unknown("pressure")));
        check("target=ST6&movement=dance", Err(Unknown("movement")));
        let never =
            atlas.targets.iter().find(|t| matches!(t.shown, Shown::Never(_))).expect("one that is not for the hand");
        check(&format!("target={}", never.id), Err(Unknown("target")));
        let ask = Ask::read(&atlas, "next_target=orbit_ring&next_side=right").expect("read");
        assert_eq!(ask.next.map(|s| s.side), Some(Side::Right));
    }
}
