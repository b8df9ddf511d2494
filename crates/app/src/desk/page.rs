//! The frame of every page, and the short pages that say what went wrong.

use maud::{DOCTYPE, Markup, html};

use crate::catalogue::text;

/// Which part of the day's work a page belongs to.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Here {
    /// The routine, from its wishes to its run.
    Start,
    /// A face with its places.
    Map,
    /// What photographs say in numbers.
    Measure,
    /// A face on paper: belongs to the map, and brings its own margins.
    Paper,
    /// None of it.
    Elsewhere,
}

/// The day's work, in its order.
fn rail(here: Here) -> Markup {
    let map = matches!(here, Here::Map | Here::Paper);
    html! {
        nav.rail aria-label=(text("mappage.rail")) {
            @for (address, label, current) in
                [
                    ("/", text("mappage.rail_start"), here == Here::Start),
                    ("/map", text("mappage.rail_map"), map),
                    ("/measure", text("measpage.rail"), here == Here::Measure),
                ]
            {
                a href=(address) aria-current=[current.then_some("page")] { (label) }
            }
        }
    }
}

/// A whole page. `title` comes before the name of the tool.
pub fn whole(here: Here, title: &str, main: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · " (text("page.name")) }
                link rel="preload" href="/assets/next-latin.woff2" as="font" type="font/woff2" crossorigin;
                link rel="stylesheet" href="/assets/sketch.css";
                link rel="stylesheet" href="/assets/tragion.css";
                link rel="stylesheet" href="/assets/face-map.css";
                @if here == Here::Measure { link rel="stylesheet" href="/assets/measure-page.css"; }
                @if here == Here::Paper { link rel="stylesheet" href="/assets/face-paper.css"; }
                link rel="icon" href="/assets/mark.svg" type="image/svg+xml";
                script src="/assets/tragion.js" defer {}
                @if matches!(here, Here::Map | Here::Paper) { script src="/assets/face-map.js" defer {} }
                @if here == Here::Measure { script src="/assets/measure-page.js" defer {} }
            }
            body {
                a.skip href="#main" { (text("page.skip")) }
                header.top {
                    a.name href="/" {
                        img src="/assets/mark.svg" alt="" width="28" height="28";
                        (text("page.name"))
                    }
                    (rail(here))
                    p.day { (text("page.motto")) }
                }
                main #main tabindex="-1" { (main) }
                footer.foot {
                    p.review { (text("page.not_reviewed")) }
                    p { (text("page.no_medicine")) }
                    p { @if matches!(here, Here::Map | Here::Paper | Here::Measure) { (text("mappage.not_stored")) } @else { (text("page.not_stored")) } }
                }
            }
        }
    }
}

fn short(title: &'static str, said: &'static str) -> Markup {
    whole(
        Here::Elsewhere,
        title,
        html! {
            div.short {
                h1 { (title) }
                p { (said) }
                p { a href="/" { (text("page.to_start")) } }
            }
        },
    )
}

/// No such page.
pub fn lost() -> Markup {
    short(text("page.lost_title"), text("page.lost"))
}

/// A request from elsewhere.
pub fn refused() -> Markup {
    short(text("page.refused_title"), text("page.refused"))
}

/// A form that can't be read.
pub fn unreadable() -> Markup {
    short(text("page.unreadable_title"), text("page.unreadable"))
}

/// The machine tells no day, so no rule that ends on a day can be judged.
pub fn no_clock() -> Markup {
    short(text("page.no_clock_title"), text("page.no_clock"))
}

/// A fault of ours.
pub fn fault() -> Markup {
    short(text("page.fault_title"), text("page.fault"))
}
