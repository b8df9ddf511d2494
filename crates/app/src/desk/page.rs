//! The frame of every page, and the short pages that say what went wrong.

use maud::{DOCTYPE, Markup, html};

use super::visitor;
use crate::catalogue::text;

/// Which part of the day's work a page belongs to.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Here {
    /// The routine, from its wishes to its run.
    Start,
    /// Who is due.
    Due,
    /// The clients, and each of them.
    Clients,
    /// A visit of a client: camera, photographs, measurement.
    Visit,
    /// The camera's picture with a target on it.
    Live,
    /// What is in a product.
    Product,
    /// Routines written by hand.
    Routines,
    /// A session: before it, and after.
    Session,
    /// The weeks and the follow-up of one client.
    Weeks,
    /// Many clients together.
    Courses,
    /// What is published: the list, texts and their claims.
    Publish,
    /// A routine as a video.
    Kit,
    /// Old recordings.
    Recordings,
    /// The practice itself.
    Practice,
    /// A face with its places.
    Map,
    /// What photographs say in numbers.
    Measure,
    /// A face on paper: belongs to the map, and brings its own margins.
    Paper,
    /// A client's face on paper.
    ClientPaper,
    /// None of it.
    Elsewhere,
}

/// A place of the rail: its address, its words, the pages that belong to it.
type Place = (&'static str, &'static str, &'static [Here]);

/// The day's work, in its order: what is behind the door only for who is inside.
const RAIL: [(bool, Place); 9] = [
    (false, ("/", "rail.start", &[Here::Start])),
    (true, ("/due", "rail.due", &[Here::Due])),
    (true, ("/clients", "rail.clients", &[Here::Clients, Here::Visit, Here::Product, Here::ClientPaper])),
    (true, ("/routines", "rail.routines", &[Here::Routines, Here::Session])),
    (true, ("/weeks", "rail.weeks", &[Here::Weeks, Here::Courses])),
    (true, ("/publish", "rail.publish", &[Here::Publish, Here::Kit, Here::Recordings])),
    (false, ("/map", "rail.map", &[Here::Map, Here::Paper, Here::Live])),
    (false, ("/measure", "rail.measure", &[Here::Measure])),
    (true, ("/practice", "rail.practice", &[Here::Practice])),
];

fn rail(here: Here) -> Markup {
    let inside = visitor::me().is_some_and(|m| m.inside);
    html! {
        nav.rail aria-label=(text("mappage.rail")) {
            @for (behind, (address, label, pages)) in RAIL {
                @if inside || !behind {
                    a href=(address) aria-current=[pages.contains(&here).then_some("page")] { (text(label)) }
                }
            }
        }
        @if inside {
            form.lock method="post" action="/lock" { (visitor::token()) button.quiet type="submit" { (text("keep.lock")) } }
        } @else {
            a.door href="/due" { (text("rail.door")) }
        }
    }
}

/// What a page loads beside what all do.
fn extras(here: Here) -> (&'static [&'static str], &'static [&'static str]) {
    match here {
        Here::Start | Here::Elsewhere => (&[], &[]),
        Here::Due => (&["home-desk.css"], &["desk.js"]),
        Here::Clients => (&["visit.css", "home-desk.css"], &["desk.js"]),
        Here::Visit => (&["measure-page.css", "visit.css"], &["desk.js", "face-map.js", "visit.js"]),
        Here::Live => (&["live.css"], &["desk.js", "live.js", "live-page.js"]),
        Here::Product => (&["product.css"], &["desk.js"]),
        Here::Routines => (&["editor.css", "home-desk.css"], &["desk.js", "editor.js"]),
        Here::Session => (&["session.css"], &["desk.js"]),
        Here::Weeks => (&["weeks.css", "visit.css", "home-desk.css"], &["desk.js"]),
        Here::Courses => (&["weeks.css", "courses.css"], &["desk.js", "courses.js"]),
        Here::Publish => (&["publish.css", "publish-texts.css"], &["desk.js", "publish-texts.js"]),
        Here::Kit => (&["publish.css", "publish-kit.css"], &["desk.js", "publish-kit.js"]),
        Here::Recordings => (&["publish.css", "recordings.css"], &["desk.js", "recordings.js"]),
        Here::Practice => (&["practice.css"], &["desk.js", "practice.js"]),
        Here::Map => (&[], &["face-map.js"]),
        Here::Measure => (&["measure-page.css"], &["measure-page.js"]),
        Here::Paper => (&["face-paper.css"], &["face-map.js"]),
        Here::ClientPaper => (&["face-paper.css", "visit.css"], &["desk.js", "face-map.js"]),
    }
}

/// A whole page. `title` comes before the name of the tool.
pub fn whole(here: Here, title: &str, main: Markup) -> Markup {
    let me = visitor::me();
    let behind = matches!(
        here,
        Here::Due
            | Here::Clients
            | Here::Visit
            | Here::Live
            | Here::Product
            | Here::ClientPaper
            | Here::Routines
            | Here::Session
            | Here::Weeks
            | Here::Courses
            | Here::Publish
            | Here::Kit
            | Here::Recordings
            | Here::Practice
    );
    let locks_in = me.as_ref().filter(|_| behind).and_then(|m| m.locks_in);
    let (styles, scripts) = extras(here);
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                @if let Some(me) = &me { meta name="token" content=(me.token); }
                @if let Some(seconds) = locks_in { meta name="locks-in" content=(seconds); }
                title { (title) " · " (text("page.name")) }
                link rel="preload" href="/assets/next-latin.woff2" as="font" type="font/woff2" crossorigin;
                link rel="stylesheet" href="/assets/sketch.css";
                link rel="stylesheet" href="/assets/tragion.css";
                link rel="stylesheet" href="/assets/face-map.css";
                link rel="stylesheet" href="/assets/desk.css";
                @for style in styles { link rel="stylesheet" href={ "/assets/" (style) }; }
                link rel="icon" href="/assets/mark.svg" type="image/svg+xml";
                script src="/assets/tragion.js" defer {}
                @for script in scripts { script src={ "/assets/" (script) } defer {} }
            }
            body {
                a.skip href="#main" { (text("page.skip")) }
                header.top {
                    a.name href="/" {
                        img src="/assets/mark.svg" alt="" width="28" height="28";
                        (text("page.name"))
                    }
                    (rail(here))
                }
                @if let Some(demo) = me.as_ref().and_then(|m| m.demo) { (super::demo::line(demo, here)) }
                main #main tabindex="-1" { (main) }
                footer.foot {
                    p.review { (text("page.not_reviewed")) }
                    p { (text("page.no_medicine")) }
                    // Of the door, of errors and the like neither would be true.
                    @if here != Here::Elsewhere { p {
                        @match here {
                            Here::Map | Here::Paper | Here::Measure => (text("mappage.not_stored")),
                            Here::Product => (text("product.not_stored")),
                            _ if behind => (text("keep.stored")),
                            _ => (text("page.not_stored")),
                        }
                    } }
                }
            }
        }
    }
}

/// A page that is nothing but its matter, over the whole screen: a session, its second screen.
pub fn full(title: &str, scripts: &[&str], main: Markup) -> Markup {
    bare(title, &["player.css", "session.css"], scripts, main)
}

/// The same with styles of its own.
pub fn bare(title: &str, styles: &[&str], scripts: &[&str], main: Markup) -> Markup {
    let me = visitor::me();
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="dark light";
                @if let Some(me) = &me { meta name="token" content=(me.token); }
                @if let Some(seconds) = me.as_ref().and_then(|m| m.locks_in) { meta name="locks-in" content=(seconds); }
                title { (title) " · " (text("page.name")) }
                link rel="preload" href="/assets/next-latin.woff2" as="font" type="font/woff2" crossorigin;
                @for style in ["sketch.css", "tragion.css", "desk.css"].iter().chain(styles) {
                    link rel="stylesheet" href={ "/assets/" (style) };
                }
                link rel="icon" href="/assets/mark.svg" type="image/svg+xml";
                @for script in scripts { script src={ "/assets/" (script) } defer {} }
            }
            body { main #main tabindex="-1" { (main) } }
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

/// A form that does not carry its visitor's token: from elsewhere, or from before the desk was started anew.
pub fn stale() -> Markup {
    short(text("page.stale_title"), text("page.stale"))
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
