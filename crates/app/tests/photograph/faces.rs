//! Faces: several, small, turned away, with closed eyes.

use crate::pictures::{Picture, eyes, landmarks, mapped, plain, points, usual, usual_map, warned};

#[test]
fn of_two_faces_the_larger_is_mapped() {
    let small = plain(12, |_| {}).smaller(2);
    let mut both = Picture::flat(usual().width + small.width + 40, usual().height, |_, _| [150, 150, 155]);
    both.paste(&small, 0, 120);
    both.paste(usual(), small.width + 40, 0);
    let map = mapped("two", &both.png(), "png", &[]).json();
    assert_eq!(map["faces"], 2);
    assert!(warned(&map, "2 faces"), "{}", map["warnings"]);
    let (share, by) = (eyes(&map) / eyes(usual_map()), (small.width + 40) as f64);
    assert!((share - 1.0).abs() < 0.02, "the larger one's eyes: {share:.3} of its distance alone");
    for (alone, here) in landmarks(usual_map()).iter().zip(landmarks(&map)) {
        let far = (here[0] - by - alone[0]).hypot(here[1] - alone[1]);
        assert!(far < 0.05 * eyes(usual_map()), "{far:.1} px");
    }
}

#[test]
fn a_face_of_an_eighth_of_the_picture_is_found() {
    let small = usual().smaller(2);
    let tall = |l: &[[f64; 3]]| l[152][1] - l[10][1];
    let face = tall(&landmarks(usual_map())) / 2.0;
    let side = (face / 0.12) as usize;
    for (corner, left, top) in [
        ("middle", (side - small.width) / 2, (side - small.height) / 2),
        ("low right", side - small.width, side - small.height),
    ] {
        let mut frame =
            Picture::flat(side, side, |x, y| [140 + (x / 40 % 2) as u8 * 12, 150 + (y * 50 / side) as u8, 160]);
        frame.paste(&small, left, top);
        let map = mapped(&format!("small-{left}"), &frame.png(), "png", &[]).json();
        let found = tall(&landmarks(&map));
        assert!((found / face - 1.0).abs() < 0.06, "{corner}: {found:.0} px high of {face:.0}");
        let at = landmarks(&map)[1];
        let nose = landmarks(usual_map())[1];
        let far = (at[0] - left as f64 - nose[0] / 2.0).hypot(at[1] - top as f64 - nose[1] / 2.0);
        assert!(far < 0.05 * eyes(&map), "{corner}: the nose is {far:.1} px away");
    }
}

#[test]
fn a_profile_is_refused_in_words() {
    for yaw in [50.0, -60.0, 75.0, -90.0] {
        let side = plain(4, |shot| shot.yaw = yaw);
        let said = mapped(&format!("yaw{yaw}"), &side.jpeg(), "jpg", &[]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "yaw {yaw}");
        let says = said.err.contains("turned too far") || said.err.contains("No face was found");
        assert!(says && said.err.contains("Face the camera"), "yaw {yaw}: {}", said.err);
    }
}

#[test]
fn a_turned_head_is_mapped_with_its_pose() {
    for (yaw, pitch, roll) in
        [(20.0, 0.0, 0.0), (-20.0, 0.0, 0.0), (0.0, 12.0, 0.0), (0.0, 0.0, 25.0), (0.0, 0.0, -25.0)]
    {
        let face = plain(9, |shot| (shot.yaw, shot.pitch, shot.roll) = (yaw, pitch, roll));
        let map = mapped(&format!("pose{yaw}{pitch}{roll}"), &face.jpeg(), "jpg", &[]).json();
        for (key, said, within) in [("yaw", yaw, 6.0), ("pitch", pitch, 8.0), ("roll", roll, 3.0)] {
            let got = map["pose_deg"][key].as_f64().expect("degrees");
            assert!((got - said).abs() < within, "{yaw} {pitch} {roll}: {key} {got}");
        }
        // 12 degrees are ordinary; 20 are said.
        assert_eq!(warned(&map, "The head is turned"), f64::abs(yaw) > 15.0, "{yaw} {pitch}: {}", map["warnings"]);
    }
}

#[test]
fn closed_eyes_give_a_map_with_a_warning() {
    let map = mapped("closed", &plain(5, |shot| shot.eyes_closed = true).jpeg(), "jpg", &[]).json();
    assert_eq!(map["scale"]["source"], "interpupillary");
    assert!(warned(&map, "The eyes are closed"), "{}", map["warnings"]);
    assert!(points(&map).len() > 30);
}
