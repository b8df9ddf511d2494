//! The card is found in invented photographs of it, and read.

mod drawn;

use drawn::{Random, Shot, linear_of_lab};

use super::layout::layout;
use super::*;
use crate::{Limits, View, decode, jpeg};

fn photographed(shot: &Shot, quality: u8) -> crate::Photograph {
    let rgb = shot.picture(&layout().modules);
    let view = View::new(shot.width, shot.height, &rgb).expect("whole");
    decode(&jpeg(&view, quality).expect("written"), &Limits::default()).expect("read")
}

fn look(photo: &crate::Photograph) -> Option<CardSeen> {
    let rgb = photo.rgb8();
    find_card(&View::new(photo.width as usize, photo.height as usize, &rgb).expect("whole"))
}

/// The largest distance of a patch's corner from the truth, as a share of the true patch's narrower side.
fn worst(seen: &CardSeen, shot: &Shot) -> f64 {
    let mut worst = 0.0f64;
    for ((_, quad), truth) in seen.quads.iter().zip(shot.quads()) {
        let width = truth[0].to(truth[1]).min(truth[3].to(truth[2]));
        for (corner, true_corner) in quad.iter().zip(truth) {
            worst = worst.max(corner.to(true_corner) / width);
        }
    }
    worst
}

#[test]
fn the_card_is_found_however_it_is_held() {
    let mut random = Random(2026);
    let mut offs = Vec::new();
    for i in 0..36u32 {
        let shot = Shot {
            roll: 10.0 * f64::from(i) + random.within(-5.0, 5.0),
            tilt: random.within(0.0, 20.0),
            axis: random.within(0.0, 360.0),
            scale: random.within(4.5, 9.0),
            at: [random.within(430.0, 470.0), random.within(430.0, 470.0)],
            blur: random.within(0.4, 1.5),
            noise: random.within(0.0, 5.0),
            falloff: random.within(0.0, 0.25),
            seed: u64::from(i),
            ..Shot::plain()
        };
        let seen = look(&photographed(&shot, 70)).unwrap_or_else(|| panic!("not found: {shot:?}"));
        let off = worst(&seen, &shot);
        assert!(off < 0.15, "{off} of a patch's width: {shot:?}");
        assert!(!seen.mirrored);
        // Where the card is nearly flat its foreshortening says little.
        let most = if shot.tilt < 8.0 { 6.0 } else { 3.0 };
        assert!((seen.tilt_deg - shot.tilt).abs() < most, "tilt {} for {}", seen.tilt_deg, shot.tilt);
        assert!((seen.module_px / shot.scale - 1.0).abs() < 0.06, "{} {}", seen.module_px, shot.scale);
        offs.push(off);
    }
    offs.sort_by(f64::total_cmp);
    // Far inside the bar, so that a slip in laying the card on is seen.
    assert!(offs[18] < 0.015 && offs[35] < 0.03, "{:.4} at the median, {:.4} at most", offs[18], offs[35]);
}

#[test]
fn a_small_dim_card_is_found() {
    for (scale, blur, noise, falloff) in [(3.0, 0.5, 3.0, 0.0), (4.0, 1.5, 2.0, 0.3), (5.0, 2.0, 8.0, 0.5)] {
        let shot = Shot { scale, blur, noise, falloff, roll: 12.0, tilt: 10.0, axis: 30.0, ..Shot::plain() };
        let seen = look(&photographed(&shot, 70)).unwrap_or_else(|| panic!("not found: {shot:?}"));
        assert!(worst(&seen, &shot) < 0.05, "{} {shot:?}", worst(&seen, &shot));
    }
}

#[test]
fn a_mirrored_card_is_said_to_be_mirrored() {
    for roll in [0.0, 100.0, 215.0] {
        let shot = Shot { mirrored: true, roll, tilt: 12.0, axis: 70.0, ..Shot::plain() };
        let seen = look(&photographed(&shot, 80)).unwrap_or_else(|| panic!("not found: {shot:?}"));
        assert!(seen.mirrored && worst(&seen, &shot) < 0.03, "{} {shot:?}", worst(&seen, &shot));
    }
}

#[test]
fn a_finger_on_the_card_does_not_drag_it_along() {
    let shot = Shot::plain();
    let mut rgb = shot.picture(&layout().modules);
    let [x0, y0] = shot.project([66.0, 30.0]).map(|v| v as usize);
    for y in y0..shot.height {
        for x in x0..x0 + 100 {
            rgb[3 * (y * shot.width + x)..][..3].copy_from_slice(&[190, 140, 120]);
        }
    }
    let seen = find_card(&View::new(shot.width, shot.height, &rgb).expect("whole")).expect("the card");
    assert!(worst(&seen, &shot) < 0.05, "{}", worst(&seen, &shot));
}

/// What another code of the same size says is no card, however alike the two look.
#[test]
fn another_code_is_no_card() {
    let other = include_str!("other_code.txt");
    let modules: Vec<bool> = other.bytes().filter(|b| matches!(b, b'0' | b'1')).map(|b| b == b'1').collect();
    let shot = Shot::plain();
    let rgb = shot.picture(&modules);
    let grey = |x: usize, y: usize| rgb[3 * (y * shot.width + x) + 1];
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(shot.width, shot.height, grey);
    let says = image.detect_grids().iter().filter_map(|g| g.decode().ok()).map(|(_, says)| says).next();
    assert_eq!(says.as_deref(), Some("TRAGION-CARD 2"), "the other code can be read, so that only its words part them");
    assert_eq!(find_card(&View::new(shot.width, shot.height, &rgb).expect("whole")), None);
}

#[test]
fn pictures_without_a_card() {
    let mut random = Random(3);
    let noise: Vec<u8> = (0..3 * 300 * 200).map(|_| random.next() as u8).collect();
    for (w, h, rgb) in
        [(300, 200, noise), (64, 64, vec![255; 3 * 64 * 64]), (1, 1, vec![0; 3]), (5000, 1, vec![9; 15000])]
    {
        assert_eq!(find_card(&View::new(w, h, &rgb).expect("whole")), None, "{w} by {h}");
    }
}

/// The page as it is printed, drawn by another hand: `tests/documents/card.py` renders the PDF and holds this file to it.
#[test]
fn the_printed_page_shows_the_card_where_it_was_drawn() {
    let page = include_bytes!("printed.png");
    let seen = look(&decode(page, &Limits::default()).expect("read")).expect("the card");
    // The file has 5 pixels a millimetre and begins 10 mm to the left of the card and 10 mm above it.
    let dot = 5.0;
    assert!((seen.module_px - dot).abs() < 0.02, "{} pixels a millimetre", seen.module_px);
    for (row, quad) in &seen.quads {
        let (x, y) = ((10.0 + row.x_mm) * dot, (10.0 + row.y_mm) * dot);
        let off = quad[0].to(face::Pixel::new(x, y));
        assert!(off < 0.5, "{} is {off} pixels off", row.patch.name);
    }
}

#[test]
fn patches_are_read_in_linear_light() {
    let shot = Shot { roll: 33.0, tilt: 15.0, axis: 20.0, noise: 3.0, ..Shot::plain() };
    let photo = photographed(&shot, 90);
    let seen = look(&photo).expect("the card");
    let quads: Vec<Quad> = seen.quads.iter().map(|(_, quad)| *quad).collect();
    let readings = read_patches(&photo, &colour::Space::srgb(), &quads);
    let mut beyond = 0;
    for ((row, _), reading) in seen.quads.iter().zip(&readings) {
        let lab = row.patch.lab;
        let truth = linear_of_lab(lab.l, lab.a, lab.b);
        for ((light, truth), se) in reading.linear.0.iter().zip(truth).zip(reading.se) {
            let off = (light - truth).abs();
            // A hundredth of the light, or what JPEG and 8 bits leave of the darkest.
            assert!(off < 0.01 * truth + 0.002, "{}: {off} of {truth}", row.patch.name);
            assert!(se > 0.0 && se < 0.003, "{}: {se}", row.patch.name);
            beyond += usize::from(off > 3.0 * se + 0.001);
        }
        assert_eq!(reading.clipped, 0.0, "{}", row.patch.name);
    }
    assert!(beyond <= 3, "{beyond} of 54 channels lie beyond three standard errors and rounding");
}

#[test]
fn what_is_cut_off_or_beyond_the_picture_counts_as_clipped() {
    let (w, h) = (100usize, 100usize);
    let mut rgb = vec![120u8; 3 * w * h];
    for y in 0..h {
        for x in 50..w {
            rgb[3 * (y * w + x)] = 252;
        }
    }
    let photo = crate::Photograph::drawn(100, 100, rgb).expect("whole");
    let quad = |x: f64, y: f64, side: f64| {
        [[x, y], [x + side, y], [x + side, y + side], [x, y + side]].map(|[x, y]| face::Pixel::new(x, y))
    };
    for (place, clipped) in [
        (quad(0.0, 0.0, 40.0), 0.0),
        (quad(60.0, 0.0, 40.0), 1.0),
        (quad(30.0, 30.0, 40.0), 0.5),
        (quad(-20.0, 30.0, 40.0), 0.5),
        (quad(500.0, 0.0, 40.0), 1.0),
        (quad(-1e7, -1e7, 2e7), 1.0),
    ] {
        let reading = read_patches(&photo, &colour::Space::srgb(), &[place])[0];
        assert!((reading.clipped - clipped).abs() < 0.03, "{place:?}: {}", reading.clipped);
    }
    let flat = [face::Pixel::new(1.0, 1.0); 4];
    let unseen = read_patches(&photo, &colour::Space::srgb(), &[flat])[0];
    assert_eq!((unseen.clipped, unseen.linear.0, unseen.se[0]), (1.0, [0.0; 3], f64::INFINITY));
}
