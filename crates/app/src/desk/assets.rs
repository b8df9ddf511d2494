//! What the pages load: style, script and type, built into the binary.

/// A file of the page.
pub struct Asset {
    /// Its media type.
    pub media: &'static str,
    /// Its bytes.
    pub bytes: &'static [u8],
}

/// The asset of this name under `/assets/`.
pub fn named(name: &str) -> Option<Asset> {
    let (media, bytes): (_, &'static [u8]) = match name {
        "tragion.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/tragion.css")),
        "face-map.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/face-map.css")),
        "measure-page.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/measure-page.css")),
        "measure-page.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/measure-page.js")),
        "desk.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/desk.css")),
        "desk.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/desk.js")),
        "visit.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/visit.css")),
        "visit.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/visit.js")),
        "live.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/live.css")),
        "live.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/live.js")),
        "live-page.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/live-page.js")),
        "editor.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/editor.css")),
        "editor.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/editor.js")),
        "engine.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/engine.js")),
        "player.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/player.js")),
        "player.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/player.css")),
        "session.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/session.js")),
        "session.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/session.css")),
        "home-desk.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/home-desk.css")),
        "weeks.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/weeks.css")),
        "publish.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/publish.css")),
        "publish-texts.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/publish-texts.css")),
        "publish-kit.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/publish-kit.css")),
        "recordings.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/recordings.css")),
        "publish-texts.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/publish-texts.js")),
        "publish-kit.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/publish-kit.js")),
        "recordings.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/recordings.js")),
        "courses.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/courses.css")),
        "courses.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/courses.js")),
        "product.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/product.css")),
        "practice.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/practice.css")),
        "practice.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/practice.js")),
        "face-paper.css" => ("text/css; charset=utf-8", include_bytes!("../../assets/face-paper.css")),
        "face-map.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/face-map.js")),
        "tragion.js" => ("text/javascript; charset=utf-8", include_bytes!("../../assets/tragion.js")),
        "sketch.css" => ("text/css; charset=utf-8", sketch::CSS.as_bytes()),
        "mark.svg" => ("image/svg+xml", include_bytes!("../../assets/mark.svg")),
        "next-latin.woff2" => {
            ("font/woff2", include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2"))
        }
        "next-latin-ext.woff2" => {
            ("font/woff2", include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-ext-wght-normal.woff2"))
        }
        _ => return None,
    };
    Some(Asset { media, bytes })
}
