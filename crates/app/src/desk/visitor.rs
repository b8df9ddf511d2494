//! Who is asking: a browser, told apart by a cookie; the token that each change must carry; and whether this browser has
//! been let in to the practice.
//!
//! A handler on any thread learns of its visitor by [`me`]: the visitor of a request is carried along with its work.

use std::collections::HashMap;
use std::future::Future;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::http::header::{self, HeaderMap, HeaderValue};
use maud::{Markup, html};

/// At most so many browsers are known at once; whoever asked longest ago, and is not let in, is forgotten first.
const MOST: usize = 256;
/// The field of a form, and the header of a script's request, that carry the token.
pub const TOKEN: &str = "token";
/// The header of a script's request that carries the token.
pub const TOKEN_HEADER: &str = "x-token";

/// One browser. Its `Debug` tells nothing: cookie and token are secrets.
#[derive(Clone)]
pub struct Visitor {
    cookie: Arc<str>,
    /// What every change must carry.
    pub token: Arc<str>,
    /// Whether the passphrase was given from here since the practice was last locked.
    pub inside: bool,
    /// Whether the practice is unlocked, and how many seconds are left until it locks itself, when the request came.
    pub locks_in: Option<u32>,
    /// Whether it is the demo that is asked.
    pub demo: Option<super::demo::Told>,
    /// Whether it came over the network rather than from this machine.
    pub remote: bool,
}

impl Visitor {
    /// What its browser is known by: a secret.
    pub fn cookie(&self) -> &Arc<str> {
        &self.cookie
    }
}

impl std::fmt::Debug for Visitor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Visitor(…)")
    }
}

struct Known {
    token: Arc<str>,
    /// The unlocking (see [`Visitors::locked`]) in which it was let in.
    inside: Option<u64>,
    asked: u64,
}

#[derive(Default)]
struct All {
    known: HashMap<Arc<str>, Known>,
    asked: u64,
    unlocking: u64,
}

/// Every browser that has asked.
#[derive(Default)]
pub struct Visitors(Mutex<All>);

tokio::task_local! {
    static ME: Visitor;
}

impl Visitors {
    fn all(&self) -> MutexGuard<'_, All> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The visitor of a request, and whether they are new and need their cookie. `None` where there is no randomness.
    pub fn of(&self, headers: &HeaderMap, port: u16, remote: bool) -> Option<(Visitor, bool)> {
        let mut all = self.all();
        all.asked += 1;
        let (now, unlocking) = (all.asked, all.unlocking);
        let seen = |cookie: Arc<str>, known: &Known| {
            let inside = known.inside == Some(unlocking);
            Visitor { cookie, token: known.token.clone(), inside, locks_in: None, demo: None, remote }
        };
        if let Some(cookie) = cookie(headers, port)
            && let Some((cookie, known)) = all.known.get_key_value(cookie).map(|(c, _)| c.clone()).and_then(|c| {
                let known = all.known.get_mut(&c)?;
                known.asked = now;
                Some((c, &*known))
            })
        {
            return Some((seen(cookie, known), false));
        }
        let (cookie, token): (Arc<str>, Arc<str>) = (secret()?.into(), secret()?.into());
        let known = Known { token, inside: None, asked: now };
        let visitor = seen(cookie.clone(), &known);
        all.known.insert(cookie, known);
        if all.known.len() > MOST {
            let least = |(_, k): &(&Arc<str>, &Known)| (k.inside == Some(unlocking), k.asked);
            let oldest = all.known.iter().min_by_key(least).map(|(c, _)| c.clone());
            oldest.and_then(|c| all.known.remove(&c));
        }
        Some((visitor, true))
    }

    /// This browser has given the passphrase.
    pub fn let_in(&self, visitor: &Visitor) {
        let mut all = self.all();
        let unlocking = all.unlocking;
        if let Some(known) = all.known.get_mut(&visitor.cookie) {
            known.inside = Some(unlocking);
        }
    }

    /// Whether the practice has stayed unlocked since the desk started.
    pub fn never_locked(&self) -> bool {
        self.all().unlocking == 0
    }

    /// This browser is not known any more.
    pub fn forget(&self, cookie: &Arc<str>) {
        self.all().known.remove(cookie);
    }

    /// A number that changes whenever the practice is locked.
    pub fn unlocking(&self) -> u64 {
        self.all().unlocking
    }

    /// The practice was locked: nobody is let in any more.
    pub fn locked(&self) {
        self.all().unlocking += 1;
    }
}

/// The header that gives a new visitor their cookie. It ends with the browser; other sites never send it.
pub fn set_cookie(visitor: &Visitor, port: u16) -> Option<HeaderValue> {
    let secure = if visitor.remote { "; Secure" } else { "" };
    HeaderValue::from_str(&format!("{}={}; Path=/; HttpOnly; SameSite=Strict{secure}", name(port), visitor.cookie)).ok()
}

/// Cookies know no port: without it in the name two desks would take each other's.
fn name(port: u16) -> String {
    format!("tragion-{port}")
}

fn cookie(headers: &HeaderMap, port: u16) -> Option<&str> {
    let name = name(port);
    let pairs = headers.get_all(header::COOKIE).iter().filter_map(|v| v.to_str().ok()).flat_map(|v| v.split(';'));
    pairs.filter_map(|pair| pair.trim().split_once('=')).find(|(n, _)| *n == name).map(|(_, value)| value)
}

/// 128 random bits as hexadecimal digits.
pub fn secret() -> Option<String> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).ok()?;
    Some(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

/// Whether two secrets are the same, in a time that does not tell where they differ.
pub fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |all, (x, y)| all | (x ^ y)) == 0
}

/// Answers a request as this visitor's.
pub async fn with<F: Future>(visitor: Visitor, work: F) -> F::Output {
    ME.scope(visitor, work).await
}

/// The visitor whose request is being answered; none in a test that renders a page by itself.
pub fn me() -> Option<Visitor> {
    ME.try_with(Clone::clone).ok()
}

/// Work to be done on another thread, as the same visitor's.
pub fn carried<T>(work: impl FnOnce() -> T + Send + 'static) -> impl FnOnce() -> T + Send + 'static {
    let me = me();
    move || match me {
        Some(me) => ME.sync_scope(me, work),
        None => work(),
    }
}

/// The hidden field that every form that changes something begins with.
pub fn token() -> Markup {
    html! { @if let Some(me) = me() { input type="hidden" name=(TOKEN) value=(me.token); } }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asks(visitors: &Visitors, cookie: Option<&HeaderValue>) -> (Visitor, bool) {
        let mut headers = HeaderMap::new();
        if let Some(cookie) = cookie {
            headers.insert(header::COOKIE, cookie.clone());
        }
        visitors.of(&headers, 80, false).expect("randomness")
    }

    #[test]
    fn a_browser_is_known_by_its_cookie_and_let_in_until_the_practice_locks() {
        let visitors = Visitors::default();
        let (first, new) = asks(&visitors, None);
        assert!(new && !first.inside);
        let cookie = set_cookie(&first, 80).expect("a header");
        let sent = cookie.to_str().expect("letters");
        assert!(sent.contains("HttpOnly") && sent.contains("SameSite=Strict"), "{sent}");
        let (again, new) = asks(&visitors, Some(&cookie));
        assert!(!new && same(&again.token, &first.token));
        visitors.let_in(&first);
        assert!(asks(&visitors, Some(&cookie)).0.inside);
        assert!(!asks(&visitors, None).0.inside, "another browser is let in as well");
        visitors.locked();
        assert!(!asks(&visitors, Some(&cookie)).0.inside);
    }

    #[test]
    fn strangers_can_not_push_out_who_is_inside() {
        let visitors = Visitors::default();
        let (first, _) = asks(&visitors, None);
        visitors.let_in(&first);
        let cookie = set_cookie(&first, 80).expect("a header");
        for _ in 0..2 * MOST {
            asks(&visitors, None);
        }
        assert!(asks(&visitors, Some(&cookie)).0.inside);
        assert!(visitors.all().known.len() <= MOST);
    }
}
