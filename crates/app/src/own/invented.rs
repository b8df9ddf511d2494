//! The demo's people: invented, rendered, never a client.

use face::{Hairline, HairlineSource, Head, Places, Pose};
use phantom::{Person, Shot, Truth, photograph};
use plan::atlas::Atlas;
use vision::Photograph;
use vocab::Side;

use super::asked;

/// An invented person's photograph and the truth beside it.
pub fn picture(person: &Person, shot: &Shot) -> (Option<Photograph>, Truth) {
    let (picture, truth) = photograph(person, shot);
    (Photograph::drawn(picture.width as u32, picture.height as u32, picture.rgb), truth)
}

/// The person's true head.
pub fn head(truth: &Truth) -> Head {
    let line = truth.hairline_mm.iter().map(|p| [p[0], p[1]]).collect();
    Head::new(truth.head_mm.clone(), Hairline::through(line, HairlineSource::Hand, 0.0))
}

/// Where every point lies in truth, in pixels: the rules on the true head, seen by the true camera.
pub fn points<'a>(atlas: &'a Atlas, places: &Places, person: &Person, truth: &Truth) -> Vec<(&'a str, Side, [f64; 2])> {
    let head = head(truth).with_thumb(person.build.thumb_mm);
    let one = |(code, side): (&'a str, Side)| {
        let (place, _) = places.find(code, side, &head)?;
        Some((code, side, truth.project(place)))
    };
    asked(atlas, places).into_iter().filter_map(one).collect()
}

/// The true pose, by the same convention as a map's.
pub fn pose(truth: &Truth) -> Pose {
    let [yaw, pitch, roll] = truth.pose_deg;
    Pose::of_turns(yaw, pitch, roll)
}
