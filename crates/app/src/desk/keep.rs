//! The practice's cabinet at the desk: where it is, what time it is, and how its errors are told.

use std::path::PathBuf;
use std::sync::{Arc, PoisonError, RwLock, RwLockReadGuard};

use axum::http::StatusCode;
use axum::response::Response;
use cabinet::{Cabinet, Cost, Error, ErrorKind, Passphrase, Time};
use maud::html;
use vocab::Date;

use super::map_routes::beside;
use super::page::{self, Here};
use super::reply::{self, html as answer_html};
use super::{Desk, inside};
use crate::catalogue::{fill, text};

/// After so many minutes without anybody at work the practice locks itself, unless the practice says otherwise.
pub const USUAL_LOCK_MINUTES: u32 = 15;
/// The setting that holds the minutes.
pub const LOCK_MINUTES: &str = "lock_minutes";

/// The passphrase of the demo: everything in it is invented, and its page tells it.
pub const DEMO_PASSPHRASE: &str = "invented people only";

/// Where the practice is kept, and the cabinet once it is there.
pub struct Keep {
    place: RwLock<Place>,
    /// Where the real practice is, and where the demo; none: nowhere to go over to.
    folders: [Option<PathBuf>; 2],
}

/// One practice.
struct Place {
    folder: PathBuf,
    cabinet: Arc<Cabinet>,
    demo: bool,
}

impl Place {
    fn at(folder: PathBuf, demo: bool) -> Place {
        Place { cabinet: Arc::new(Cabinet::at(&folder)), folder, demo }
    }
}

impl Keep {
    /// A practice kept in this folder, there or not.
    pub fn new(folder: PathBuf, demo: bool) -> Keep {
        let other = usual_folder(!demo).filter(|other| *other != folder);
        let folders = if demo { [other, Some(folder.clone())] } else { [Some(folder.clone()), other] };
        Keep { place: RwLock::new(Place::at(folder, demo)), folders }
    }

    fn place(&self) -> RwLockReadGuard<'_, Place> {
        self.place.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// The folder.
    pub fn folder(&self) -> PathBuf {
        self.place().folder.clone()
    }

    /// Whether this is the demo: invented people, a passphrase that everybody may know.
    pub fn is_demo(&self) -> bool {
        self.place().demo
    }

    /// Whether there is a practice.
    pub fn is_there(&self) -> bool {
        Cabinet::is_in(&self.place().folder)
    }

    /// The cabinet, locked or not.
    pub fn cabinet(&self) -> Arc<Cabinet> {
        self.place().cabinet.clone()
    }

    /// Puts another cabinet in its place: one that was made or restored.
    pub fn replace(&self, cabinet: Cabinet) {
        self.place.write().unwrap_or_else(PoisonError::into_inner).cabinet = Arc::new(cabinet);
    }

    /// Locks this practice and goes over to the demo, or from the demo to the real one; false where there is no such way.
    pub fn go_over(&self, demo: bool) -> bool {
        let before = self.cabinet();
        let mut place = self.place.write().unwrap_or_else(PoisonError::into_inner);
        if place.demo == demo {
            return false;
        }
        let Some(folder) = self.folders[usize::from(demo)].clone() else { return false };
        *place = Place::at(folder, demo);
        drop(place);
        before.lock();
        true
    }

    /// Makes the practice.
    ///
    /// # Errors
    /// Of the cabinet.
    pub fn create(&self, passphrase: &Passphrase, now: Time) -> Result<(), Error> {
        let cabinet = Cabinet::create(&self.folder(), passphrase, Cost::STANDARD, now)?;
        cabinet.lock_after(Some(60 * USUAL_LOCK_MINUTES));
        self.replace(cabinet);
        Ok(())
    }

    /// Unlocks it with its passphrase; how long it stays so is the practice's own setting.
    ///
    /// # Errors
    /// Of the cabinet.
    pub fn unlock(&self, passphrase: &Passphrase, now: Time) -> Result<(), Error> {
        let cabinet = self.cabinet();
        cabinet.unlock(passphrase, now)?;
        let said = cabinet.read(|r| r.setting(LOCK_MINUTES))?;
        let minutes = said.and_then(|m| m.parse().ok()).unwrap_or(USUAL_LOCK_MINUTES);
        cabinet.lock_after(Some(60 * minutes));
        Ok(())
    }
}

/// Where a practice is kept when nothing else is said: the place for a program's data on each system.
pub fn usual_folder(demo: bool) -> Option<PathBuf> {
    let from = |name: &str| std::env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    let home = || from("HOME");
    let data = if cfg!(target_os = "windows") {
        from("LOCALAPPDATA")?
    } else if cfg!(target_os = "macos") {
        home()?.join("Library/Application Support")
    } else {
        from("XDG_DATA_HOME").or_else(|| Some(home()?.join(".local/share")))?
    };
    Some(data.join("tragion").join(if demo { "demo" } else { "practice" }))
}

/// The moment, on the desk's day: a day fixed for tests keeps the clock's hour.
pub fn now(desk: &Desk) -> Time {
    let clock = jiff::Timestamp::now().as_second();
    match desk.day {
        None => Time::from_unix(clock),
        Some(day) => at_noon(day).plus(clock.rem_euclid(86_400) - 43_200),
    }
}

/// How many seconds are left until the practice locks itself; none while it is locked or never does.
pub fn locks_in(desk: &Desk) -> Option<u32> {
    let left = desk.keep.cabinet().locks_at()?.unix() - now(desk).unix();
    Some(u32::try_from(left.max(0)).unwrap_or(u32::MAX))
}

/// Noon of a day, in UTC.
pub fn at_noon(day: Date) -> Time {
    Time::parse(&format!("{day}T12:00:00Z")).unwrap_or_else(|| Time::from_unix(0))
}

/// A moment's day where this machine stands, as people write it: "3 March 2026".
pub fn day_in_words(time: Time) -> String {
    let here =
        jiff::Timestamp::from_second(time.unix()).map(|t| t.to_zoned_datetime(jiff::tz::TimeZone::system()).date());
    here.ok().and_then(|d| Date::parse(&d.to_string())).map_or_else(|| time.date().to_string(), date_in_words)
}

/// A day as people write it.
pub fn date_in_words(day: Date) -> String {
    const MONTHS: [&str; 12] = [
        "month.jan",
        "month.feb",
        "month.mar",
        "month.apr",
        "month.may",
        "month.jun",
        "month.jul",
        "month.aug",
        "month.sep",
        "month.oct",
        "month.nov",
        "month.dec",
    ];
    let said = day.to_string();
    let mut parts = said.rsplitn(3, '-');
    let number = |p: Option<&str>| p.and_then(|p| p.parse::<usize>().ok()).unwrap_or(1);
    let (d, m) = (number(parts.next()), number(parts.next()));
    let month = text(MONTHS[(m.max(1) - 1).min(11)]);
    fill("month.day", &[("day", &d), ("month", &month), ("year", &parts.next().unwrap_or_default())])
}

/// Answers from the cabinet, beside the server's one thread; an error becomes a page that says what to do.
pub async fn answer(
    desk: Arc<Desk>,
    work: impl FnOnce(&Desk, &Cabinet) -> Result<Response, Error> + Send + 'static,
) -> Response {
    beside(move || {
        let cabinet = desk.keep.cabinet();
        work(&desk, &cabinet).unwrap_or_else(|error| told(&desk, &error))
    })
    .await
}

/// An error as a page.
pub fn told(desk: &Desk, error: &Error) -> Response {
    let status = match error.kind() {
        ErrorKind::Locked => {
            desk.locked();
            return inside::locked("/due");
        }
        ErrorKind::NoSuch(..) => StatusCode::NOT_FOUND,
        ErrorKind::NoConsent(_) | ErrorKind::NotTheirs | ErrorKind::Unchangeable(_) => StatusCode::CONFLICT,
        ErrorKind::BadValue { .. } => StatusCode::UNPROCESSABLE_ENTITY,
        ErrorKind::DiskFull(_) => StatusCode::INSUFFICIENT_STORAGE,
        _ => StatusCode::INTERNAL_SERVER_ERROR,
    };
    let main = html! {
        div.short {
            h1 { (text("keep.not_done")) }
            div.missing role="alert" { p { (error) } }
            @if let ErrorKind::Damaged { .. } = error.kind() {
                p { a.button href="/begin/restore" { (text("keep.to_restore")) } }
            }
            p { (text("keep.back")) }
            p { a href="/due" { (text("rail.due")) } " · " a href="/clients" { (text("rail.clients")) } }
        }
    };
    answer_html(status, page::whole(Here::Elsewhere, text("keep.not_done"), main))
}

/// What was typed can't be used: the same form again says why; the status says it too.
pub fn again(markup: maud::Markup) -> Response {
    answer_html(StatusCode::UNPROCESSABLE_ENTITY, markup)
}

/// There is no such page.
pub fn lost() -> Result<Response, Error> {
    Ok(reply::lost_page())
}
