//! Devices on the same network: off until somebody turns it on, over TLS, paired by a code that the desk shows.
//!
//! A paired device is known by its cookie while this listens, and gets in only while the practice is unlocked at the desk. It never
//! reaches the practice's own page, the passphrase, or erasure. Turned off, every connection closes at once and every device is forgotten.

use std::net::{IpAddr, SocketAddr, UdpSocket};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use axum::Router;
use axum::extract::{Path, Request, State};
use axum::http::StatusCode;
use axum::response::Response;
use axum::routing::{get, post};
use maud::{Markup, html};
use tokio::task::AbortHandle;

use super::super::clients::{form, said};
use super::super::fields::{Field, wrong};
use super::super::keep;
use super::super::map_routes::{beside, ok, to};
use super::super::page::{self, Here};
use super::super::reply::{html as answer_html, lost_page};
use super::super::visitor::{Visitor, me, same, token};
use super::{Desk, devices_net, hold};
use crate::catalogue::{fill, text};

type Shared = State<Arc<Desk>>;

/// How long a code counts.
const CODE_FOR: Duration = Duration::from_secs(120);
/// How many wrong tries a code stands.
const TRIES: u32 = 5;
/// So many devices are paired at once.
const MOST: usize = 8;

/// What is known of devices while the desk runs.
#[derive(Default)]
pub struct Devices(Mutex<All>);

#[derive(Default)]
struct All {
    on: Option<On>,
    paired: Vec<Device>,
    next: u32,
}

struct On {
    address: SocketAddr,
    fingerprint: String,
    code: Option<Code>,
    listens: AbortHandle,
}

struct Code {
    digits: String,
    until: Instant,
    tries: u32,
}

struct Device {
    number: u32,
    cookie: Arc<str>,
    name: String,
}

/// How a code was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Taken {
    Paired,
    Wrong,
    /// There is no code that counts: it was used, is over, or was tried too often.
    Over,
}

impl Devices {
    /// Whether this browser on the network is paired.
    pub fn knows(&self, visitor: &Visitor) -> bool {
        let all = hold(&self.0);
        all.on.is_some() && all.paired.iter().any(|d| same(&d.cookie, visitor.cookie()))
    }

    fn begin(&self, on: On) {
        self.end();
        hold(&self.0).on = Some(on);
    }

    /// Closes every connection and forgets every device.
    fn end(&self) -> Vec<Arc<str>> {
        let mut all = hold(&self.0);
        if let Some(on) = all.on.take() {
            on.listens.abort();
        }
        all.paired.drain(..).map(|d| d.cookie).collect()
    }

    fn new_code(&self, now: Instant) {
        if let Some(on) = &mut hold(&self.0).on {
            on.code = digits().map(|digits| Code { digits, until: now + CODE_FOR, tries: TRIES });
        }
    }

    fn pair(&self, visitor: &Visitor, typed: &str, name: &str, now: Instant) -> Taken {
        let mut all = hold(&self.0);
        let All { on, paired, next } = &mut *all;
        let Some(on) = on else { return Taken::Over };
        let Some(code) = on.code.as_mut().filter(|c| now < c.until && c.tries > 0) else {
            on.code = None;
            return Taken::Over;
        };
        if !same(&code.digits, typed) {
            code.tries -= 1;
            if code.tries == 0 {
                on.code = None;
            }
            return Taken::Wrong;
        }
        // A code lets one device in.
        on.code = None;
        paired.retain(|d| !same(&d.cookie, visitor.cookie()));
        if paired.len() == MOST {
            paired.remove(0);
        }
        *next += 1;
        let name =
            if name.is_empty() { fill("device.unnamed", &[("n", next)]) } else { name.chars().take(60).collect() };
        paired.push(Device { number: *next, cookie: visitor.cookie().clone(), name });
        Taken::Paired
    }

    fn revoke(&self, number: u32) -> Option<Arc<str>> {
        let mut all = hold(&self.0);
        let at = all.paired.iter().position(|d| d.number == number)?;
        Some(all.paired.remove(at).cookie)
    }
}

/// Six digits.
fn digits() -> Option<String> {
    loop {
        let mut bytes = [0_u8; 4];
        getrandom::fill(&mut bytes).ok()?;
        let number = u32::from_le_bytes(bytes);
        // Each code as likely as any other.
        if number < 4_294_000_000 {
            return Some(format!("{:06}", number % 1_000_000));
        }
    }
}

/// The routes behind the door, at the desk itself.
pub fn routes() -> Router<Arc<Desk>> {
    Router::new()
        .route("/practice/devices", get(show))
        .route("/practice/devices/on", post(turn_on))
        .route("/practice/devices/off", post(turn_off))
        .route("/practice/devices/code", post(code))
        .route("/practice/devices/{number}/revoke", post(revoke))
}

/// The pairing page, for browsers on the network alone.
pub fn pairing() -> Router<Arc<Desk>> {
    Router::new().route("/pair", get(ask).post(pair))
}

/// What a browser on the network is answered instead of what it asked for; `None`: it is paired and the practice is open.
pub fn refused(desk: &Desk, visitor: &Visitor, path: &str) -> Option<Response> {
    if path == "/pair" {
        return None;
    }
    if !desk.practice.devices.knows(visitor) {
        return Some(answer_html(StatusCode::FORBIDDEN, short("device.not_paired_title", "device.not_paired", true)));
    }
    if !desk.keep.cabinet().is_unlocked() {
        return Some(answer_html(StatusCode::FORBIDDEN, short("keep.locked_title", "device.locked", false)));
    }
    let at_the_desk =
        ["/practice", "/begin", "/unlock", "/open"].iter().any(|p| path == *p || path.starts_with(&format!("{p}/")));
    let erases = path.starts_with("/clients/") && path.trim_end_matches('/').ends_with("/erase");
    (at_the_desk || erases)
        .then(|| answer_html(StatusCode::FORBIDDEN, short("device.desk_only_title", "device.desk_only", false)))
}

fn short(title: &'static str, said: &'static str, pair: bool) -> Markup {
    let main = html! {
        div.short {
            h1 { (text(title)) }
            p { (text(said)) }
            @if pair { p { a.button.go href="/pair" { (text("device.pair_title")) } } } @else { p { a href="/due" { (text("rail.due")) } } }
        }
    };
    page::whole(Here::Elsewhere, text(title), main)
}

async fn show(State(desk): Shared) -> Response {
    beside(move || ok(show_page(&desk, "", None))).await
}

/// The address by which others on the network reach this machine. Nothing is sent: the system only says which it would send from.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind("0.0.0.0:0").ok()?;
    // An address kept for documentation (RFC 5737): on no network, so by the way that everything else takes.
    socket.connect("192.0.2.1:9").ok()?;
    socket.local_addr().ok().map(|a| a.ip()).filter(|ip| !ip.is_unspecified())
}

/// Whether an address is one of a home or of this machine, never of the whole world.
fn is_near(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => ip.is_private() || ip.is_link_local() || ip.is_loopback(),
        IpAddr::V6(ip) => ip.is_unique_local() || ip.is_unicast_link_local() || ip.is_loopback(),
    }
}

fn show_page(desk: &Desk, typed: &str, why: Option<&str>) -> Markup {
    let all = hold(&desk.practice.devices.0);
    let main = html! {
        div.narrow {
            h1 { (text("device.title")) }
            p.lead { (text("device.lead")) }
            (wrong(why))
            @match &all.on {
                None => {
                    @let found = own_address().map(|a| a.to_string()).unwrap_or_default();
                    @if found.is_empty() { p { (text("device.no_network")) } }
                    form method="post" action="/practice/devices/on" {
                        (token())
                        (Field::text("address", text("device.address"), if typed.is_empty() { &found } else { typed }).hint(text("device.address_hint")).show())
                        div.act { button.go type="submit" { (text("device.on")) } }
                    }
                }
                Some(on) => {
                    (listening(on))
                    section.part #paired aria-labelledby="paired-title" {
                        h2 #paired-title { (text("device.paired_title")) }
                        @if all.paired.is_empty() { p { (text("device.none")) } }
                        ul.own-rows { @for device in &all.paired { li {
                            h3 { (device.name) }
                            form method="post" action={ "/practice/devices/" (device.number) "/revoke" } {
                                (token())
                                button type="submit" aria-label={ (text("device.revoke")) ": " (device.name) } { (text("device.revoke")) }
                            }
                        } } }
                    }
                    form method="post" action="/practice/devices/off" {
                        (token())
                        p { (text("device.off_what")) }
                        div.act { button type="submit" { (text("device.off")) } }
                    }
                }
            }
        }
    };
    page::whole(Here::Practice, text("device.title"), main)
}

fn listening(on: &On) -> Markup {
    let code = on.code.as_ref().filter(|c| Instant::now() < c.until);
    html! {
        ol.pair-steps {
            li { p { (text("device.step_open")) } p { strong { "https://" (on.address) "/pair" } } }
            li { p { (text("device.step_compare")) } p.print-of { code { (on.fingerprint) } } }
            li {
                p { (text("device.step_code")) }
                @match code {
                    Some(code) => {
                        p.pairing { (code.digits) }
                        p.hint { (fill("device.code_for", &[("s", &code.until.saturating_duration_since(Instant::now()).as_secs()), ("n", &code.tries)])) }
                    }
                    None => p { (text("device.code_over")) },
                }
                form method="post" action="/practice/devices/code" {
                    (token())
                    @if code.is_none() { button.go type="submit" { (text("device.new_code")) } }
                    @else { button type="submit" { (text("device.new_code")) } }
                }
            }
        }
    }
}

async fn turn_on(State(desk): Shared, request: Request) -> Response {
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let typed = said(&form, "address");
    let again = |why: &str| keep::again(show_page(&desk, &typed, Some(why)));
    let Some(ip) = typed.parse::<IpAddr>().ok().filter(|ip| is_near(*ip)) else {
        return again(text("device.bad_address"));
    };
    match devices_net::listen(desk.clone(), ip).await {
        Ok(begun) => {
            let devices = &desk.practice.devices;
            devices.begin(On {
                address: begun.address,
                fingerprint: begun.fingerprint,
                code: None,
                listens: begun.listens,
            });
            devices.new_code(Instant::now());
            to("/practice/devices")
        }
        Err(error) => again(&fill("device.no_listening", &[("address", &typed), ("error", &error)])),
    }
}

async fn turn_off(State(desk): Shared) -> Response {
    for cookie in desk.practice.devices.end() {
        desk.visitors.forget(&cookie);
    }
    to("/practice/devices")
}

async fn code(State(desk): Shared) -> Response {
    desk.practice.devices.new_code(Instant::now());
    to("/practice/devices")
}

async fn revoke(State(desk): Shared, Path(number): Path<u32>) -> Response {
    match desk.practice.devices.revoke(number) {
        Some(cookie) => {
            desk.visitors.forget(&cookie);
            to("/practice/devices#paired")
        }
        None => lost_page(),
    }
}

async fn ask() -> Response {
    if me().is_some_and(|m| m.remote) { ok(ask_page("", None)) } else { lost_page() }
}

fn ask_page(name: &str, why: Option<&str>) -> Markup {
    let main = html! {
        div.narrow {
            h1 { (text("device.pair_title")) }
            p.lead { (text("device.pair_lead")) }
            (wrong(why))
            form method="post" action="/pair" autocomplete="off" {
                (token())
                (Field::text("code", text("device.code"), "").hint(text("device.code_hint")).required().show())
                (Field::text("name", text("device.name"), name).hint(text("device.name_hint")).show())
                div.act { button.go type="submit" { (text("device.pair")) } }
            }
        }
    };
    page::whole(Here::Elsewhere, text("device.pair_title"), main)
}

async fn pair(State(desk): Shared, request: Request) -> Response {
    let Some(me) = me().filter(|m| m.remote) else { return lost_page() };
    let form = match form(request).await {
        Ok(form) => form,
        Err(response) => return response,
    };
    let typed: String = said(&form, "code").chars().filter(|c| !c.is_whitespace()).collect();
    let name = said(&form, "name");
    match desk.practice.devices.pair(&me, &typed, &name, Instant::now()) {
        Taken::Paired => to("/due"),
        Taken::Wrong => answer_html(StatusCode::FORBIDDEN, ask_page(&name, Some(text("device.wrong_code")))),
        Taken::Over => answer_html(StatusCode::FORBIDDEN, ask_page(&name, Some(text("device.over")))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_addresses_of_a_home_are_listened_on() {
        for (ip, near) in [
            ("192.168.1.20", true),
            ("10.0.0.4", true),
            ("172.16.3.4", true),
            ("169.254.1.1", true),
            ("127.0.0.1", true),
            ("fd00::1", true),
            ("fe80::1", true),
            ("0.0.0.0", false),
            ("::", false),
            ("8.8.8.8", false),
            ("172.32.0.1", false),
            ("2001:db8::1", false),
        ] {
            assert_eq!(is_near(ip.parse().expect("an address")), near, "{ip}");
        }
    }

    #[test]
    fn codes_are_six_digits() {
        for _ in 0..200 {
            let code = digits().expect("randomness");
            assert!(code.len() == 6 && code.bytes().all(|b| b.is_ascii_digit()), "{code}");
        }
    }
}
