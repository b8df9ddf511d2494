//! Finds the face in a photograph and writes the picture with its landmarks: `look PHOTO OUT.png`.

use vision::{Care, Finder, View};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().collect();
    let [_, photo, out] = args.as_slice() else { return Err("look PHOTO OUT.png".into()) };
    let mut picture = image::open(photo)?.to_rgb8();
    let (w, h) = picture.dimensions();
    let finder = Finder::new()?;
    let begun = std::time::Instant::now();
    let view = View::new(w as usize, h as usize, picture.as_raw()).ok_or("an empty picture")?;
    let found = finder.find(&view, Care::PHOTOGRAPH)?;
    println!("{} faces, share {:.3}, presence {:.3}, {:?}", found.faces, found.share, found.presence, begun.elapsed());
    for (i, [x, y, z]) in found.landmarks.all().iter().enumerate() {
        if [1, 10, 33, 133, 152, 234, 263, 454].contains(&i) || i >= 468 {
            println!("{i}: {x:.2} {y:.2} {z:.2}");
        }
        if *x >= 0.0 && *y >= 0.0 && (*x as u32) < w && (*y as u32) < h {
            picture.put_pixel(*x as u32, *y as u32, image::Rgb(if i < 468 { [0, 255, 0] } else { [255, 0, 0] }));
        }
    }
    picture.save(out)?;
    Ok(())
}
