//! The desk: the pages of Tragion, served to this machine alone.
//!
//! What stands before the door of the practice stores nothing; photographs and the routines for them are kept in memory while the program
//! runs, and forgotten on a word. What is behind it is kept in the practice's cabinet, encrypted.
//! What a person answers travels in the body of a request, never in an address, so that it
//! stays out of the browser's history; the wishes (concern, minutes, tools) may stand in an address.

pub mod album;
mod assets;
mod client;
mod clients;
mod courses;
mod curve;
mod demo;
mod due;
pub mod editor;
mod fields;
mod form;
mod guard;
mod halt;
mod hands;
mod home;
mod inside;
mod intake;
pub mod keep;
mod live;
mod looking;
mod map_routes;
mod measure_ask;
mod measure_bars;
mod measure_routes;
mod measure_shown;
mod measure_store;
mod onto;
#[cfg(test)]
mod outside_tests;
mod own_face;
mod page;
mod paper;
mod person;
mod places;
mod practice;
mod product;
pub mod publish;
mod questions;
mod reply;
mod report;
pub mod routine;
mod run;
mod session;
mod start;
pub mod steps;
mod token;
mod visitor;
pub mod visits;
mod weeks;
mod whose;

use std::io::Write;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use cabinet::Passphrase;
use plan::atlas::Atlas;
use tokio::net::TcpListener;
use vocab::Date;

pub use self::keep::usual_folder;
pub use self::routine::sign_list;
use crate::catalogue::{fill, text};
use crate::outcome::{Code, Outcome};
use crate::today::today;

/// What every request is answered from.
pub struct Desk {
    atlas: RwLock<Arc<Atlas>>,
    /// A fixed day, for tests and demonstrations; otherwise the clock's.
    day: Option<Date>,
    port: u16,
    album: album::Album,
    visits: measure_store::Visits,
    keep: keep::Keep,
    live: live::Running,
    drawing: demo::Drawing,
    visitors: visitor::Visitors,
    /// What the printed address ends in, where its reader is let in without typing the passphrase.
    key: Option<String>,
    /// Whether the passphrase came from a file, or is the demo's.
    unattended: bool,
    practice: practice::State,
    courses: courses::State,
}

/// How the desk is to be started.
pub struct Start {
    /// On which port; 0: any.
    pub port: u16,
    /// A fixed day.
    pub day: Option<Date>,
    /// Whether the browser is to be opened.
    pub open: bool,
    /// The folder of the practice; none: the usual one.
    pub cabinet: Option<PathBuf>,
    /// Whether it is the demo practice.
    pub demo: bool,
    /// The passphrase, where nobody is there to type it.
    pub passphrase: Option<Passphrase>,
    /// Name and text of the files that the atlas was read from beside its own.
    pub own: Vec<(String, String)>,
}

impl Desk {
    /// The atlas as it is now, the practice's own parts among it.
    fn atlas(&self) -> Arc<Atlas> {
        self.atlas.read().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Another atlas from now on.
    fn set_atlas(&self, atlas: Atlas) {
        *self.atlas.write().unwrap_or_else(PoisonError::into_inner) = Arc::new(atlas);
    }

    /// The practice was locked: nobody is inside any more, and what is its own goes.
    fn locked(&self) {
        self.visitors.locked();
        self.live.forget();
        self.courses.forget();
        practice::closed(self);
    }

    fn today(&self) -> Option<Date> {
        self.day.or_else(today)
    }
}

/// Serves until the process is ended.
pub fn serve(atlas: Atlas, start: Start) -> Outcome {
    let unusable = |said: String| Outcome { out: String::new(), err: format!("{said}\n"), code: Code::Unusable };
    let port = start.port;
    let no_port = |error: std::io::Error| unusable(fill("desk.no_port", &[("port", &port), ("error", &error)]));
    let Some(folder) = start.cabinet.or_else(|| keep::usual_folder(start.demo)) else {
        return unusable(text("keep.no_folder").to_owned());
    };
    let keep = keep::Keep::new(folder, start.demo);
    let unattended = start.demo || start.passphrase.is_some();
    let key = if unattended { visitor::secret() } else { None };
    let base = practice::Base { atlas: atlas.clone(), files: start.own };
    let mut desk = Desk {
        atlas: RwLock::new(Arc::new(atlas)),
        day: start.day,
        port,
        album: album::Album::default(),
        visits: measure_store::Visits::default(),
        keep,
        live: live::Running::default(),
        drawing: demo::Drawing::default(),
        visitors: visitor::Visitors::default(),
        key,
        unattended,
        practice: practice::State::new(base),
        courses: courses::State::default(),
    };
    if let Err(said) = inside::at_start(&desk, start.passphrase) {
        return unusable(said);
    }
    // A draft is pure computation: few threads, so that a storm of requests can't take the machine.
    let runtime =
        tokio::runtime::Builder::new_current_thread().enable_io().enable_time().max_blocking_threads(4).build();
    let served = runtime.and_then(|runtime| {
        runtime.block_on(async {
            let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await?;
            desk.port = listener.local_addr()?.port();
            let end = desk.key.as_deref().map_or_else(String::new, |key| format!("open/{key}"));
            let address = format!("http://127.0.0.1:{}/{end}", desk.port);
            let mut out = std::io::stdout().lock();
            // Nobody may be reading; the desk is there all the same.
            let _ = writeln!(out, "{address}").and_then(|()| out.flush());
            drop(out);
            if start.open {
                open_browser(&address);
            }
            let desk = Arc::new(desk);
            demo::draw_beside(&desk);
            tokio::spawn(lock_when_due(desk.clone()));
            axum::serve(listener, reply::router(desk)).await
        })
    });
    served.map_or_else(no_port, |()| Outcome::done(String::new()))
}

/// Locks the practice when nobody has been at work for its time.
async fn lock_when_due(desk: Arc<Desk>) {
    loop {
        tokio::time::sleep(Duration::from_secs(5)).await;
        let desk = desk.clone();
        // Locking waits for what is being written.
        let locked = tokio::task::spawn_blocking(move || {
            desk.live.sweep();
            if desk.keep.cabinet().lock_if_due(keep::now(&desk)) {
                desk.locked();
                desk.album.forget_all();
            }
        });
        if locked.await.is_err() {
            return;
        }
    }
}

/// Opens the default browser. That there is none is no error: the address was printed.
fn open_browser(address: &str) {
    let (program, args): (&str, &[&str]) = if cfg!(target_os = "macos") {
        ("open", &[])
    } else if cfg!(target_os = "windows") {
        ("cmd", &["/C", "start", ""])
    } else {
        ("xdg-open", &[])
    };
    let child = Command::new(program)
        .args(args)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    if let Ok(mut child) = child {
        std::thread::spawn(move || child.wait());
    }
}
