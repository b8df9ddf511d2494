//! The desk: the pages of Tragion, served to this machine alone.
//!
//! Nothing is stored; photographs and the routines for them are kept in memory while the program runs, and forgotten on a word.
//! What a person answers travels in the body of a request, never in an address, so that it
//! stays out of the browser's history; the wishes (concern, minutes, tools) may stand in an address.

mod album;
mod assets;
mod curve;
mod form;
mod guard;
mod halt;
mod hands;
mod looking;
mod map_routes;
mod measure_ask;
mod measure_bars;
mod measure_routes;
mod measure_shown;
mod measure_store;
mod onto;
mod own_face;
mod page;
mod paper;
mod places;
mod questions;
mod reply;
mod routine;
mod run;
mod start;
mod steps;
mod whose;

use std::io::Write;
use std::net::{Ipv4Addr, SocketAddr};
use std::process::{Command, Stdio};
use std::sync::Arc;

use plan::atlas::Atlas;
use tokio::net::TcpListener;
use vocab::Date;

use crate::catalogue::fill;
use crate::outcome::{Code, Outcome};
use crate::today::today;

/// What every request is answered from.
pub struct Desk {
    atlas: Atlas,
    /// A fixed day, for tests and demonstrations; otherwise the clock's.
    day: Option<Date>,
    port: u16,
    album: album::Album,
    visits: measure_store::Visits,
}

impl Desk {
    fn today(&self) -> Option<Date> {
        self.day.or_else(today)
    }
}

/// Serves until the process is ended.
pub fn serve(atlas: Atlas, port: u16, day: Option<Date>, open: bool) -> Outcome {
    let unusable = |error: std::io::Error| Outcome {
        out: String::new(),
        err: format!("{}\n", fill("desk.no_port", &[("port", &port), ("error", &error)])),
        code: Code::Unusable,
    };
    // A draft is pure computation: few threads, so that a storm of requests can't take the machine.
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().max_blocking_threads(4).build();
    let served = runtime.and_then(|runtime| {
        runtime.block_on(async {
            let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port))).await?;
            let port = listener.local_addr()?.port();
            let address = format!("http://127.0.0.1:{port}/");
            let mut out = std::io::stdout().lock();
            // Nobody may be reading; the desk is there all the same.
            let _ = writeln!(out, "{address}").and_then(|()| out.flush());
            drop(out);
            if open {
                open_browser(&address);
            }
            axum::serve(
                listener,
                reply::router(Arc::new(Desk {
                    atlas,
                    day,
                    port,
                    album: album::Album::default(),
                    visits: measure_store::Visits::default(),
                })),
            )
            .await
        })
    });
    served.map_or_else(unusable, |()| Outcome::done(String::new()))
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
