//! Who may ask, and what every answer carries.
//!
//! The desk listens on loopback only; still, any web page open in the same browser could send requests there.
//! So the *Host* must be ours (a name that resolves to loopback is refused: DNS rebinding), and a request that
//! sends something must come from our own page.

use std::net::SocketAddr;

use axum::http::header::{self, HeaderName, HeaderValue};
use axum::http::{Method, Request, Response};

/// Scripts, styles, fonts and pictures from here alone; nothing else, nothing inline, no frames.
pub const CONTENT_SECURITY_POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; \
     img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'";

/// The same where a person plays their own film: it is read from their disk into the page, and goes nowhere.
const WITH_OWN_FILM: &str = "default-src 'none'; style-src 'self'; script-src 'self'; \
     img-src 'self' data:; media-src blob:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; \
     frame-ancestors 'none'";

/// Marks an answer whose page plays a film of the person's own (extension of the response).
#[derive(Clone, Copy)]
pub struct OwnFilm;

/// Headers of every answer.
const HEADERS: [(HeaderName, &str); 6] = [
    (header::CONTENT_SECURITY_POLICY, CONTENT_SECURITY_POLICY),
    (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (header::REFERRER_POLICY, "no-referrer"),
    (header::X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
];

/// Puts the headers of every answer on this one.
pub fn harden<B>(response: &mut Response<B>) {
    let own_film = response.extensions().get::<OwnFilm>().is_some();
    let headers = response.headers_mut();
    for (name, value) in HEADERS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if own_film {
        headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(WITH_OWN_FILM));
    }
    // What was answered here must not lie in a cache on the disk; the assets say otherwise themselves.
    headers.entry(header::CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
}

/// Whether the request may be answered at all, at the desk itself.
pub fn allows<B>(request: &Request<B>, port: u16) -> bool {
    let ours = |host: &str| {
        let name = host.strip_suffix(&format!(":{port}")).or((port == 80).then_some(host));
        matches!(name, Some("127.0.0.1" | "localhost" | "[::1]"))
    };
    allows_from(request, "http://", ours)
}

/// The same for a request that came in over the network: by this address and no name.
pub fn allows_over<B>(request: &Request<B>, address: SocketAddr) -> bool {
    allows_from(request, "https://", |host| host == address.to_string())
}

fn allows_from<B>(request: &Request<B>, scheme: &str, ours: impl Fn(&str) -> bool) -> bool {
    let one = |name: HeaderName| {
        let mut values = request.headers().get_all(name).iter();
        let first = values.next().map(|value| value.to_str().unwrap_or("unreadable"));
        if values.next().is_some() { Some("twice") } else { first }
    };
    if !one(header::HOST).is_some_and(&ours) {
        return false;
    }
    // An absolute request line names its host a second time.
    if request.uri().authority().is_some_and(|authority| !ours(authority.as_str())) {
        return false;
    }
    let from_our_page = one(HeaderName::from_static("sec-fetch-site"));
    match one(header::ORIGIN) {
        // A page without referrers sends `null`; the browser then says by itself where it came from.
        Some("null") => from_our_page == Some("same-origin"),
        Some(origin) => origin.strip_prefix(scheme).is_some_and(ours),
        None => {
            let reads = request.method() == Method::GET || request.method() == Method::HEAD;
            // Typed, bookmarked, or followed from anywhere: reading is harmless. Sending needs a word of origin.
            reads || from_our_page == Some("same-origin")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_film_of_one_s_own_changes_nothing_else_of_the_policy() {
        let policy = |film: bool| {
            let mut response = Response::new(());
            if film {
                response.extensions_mut().insert(OwnFilm);
            }
            harden(&mut response);
            response.headers()[header::CONTENT_SECURITY_POLICY].to_str().expect("letters").to_owned()
        };
        assert_eq!(policy(false), CONTENT_SECURITY_POLICY);
        assert_eq!(policy(true).replace(" media-src blob:;", ""), CONTENT_SECURITY_POLICY);
        assert_ne!(policy(true), policy(false));
    }

    #[test]
    fn only_our_own_page_may_ask() {
        let check = |method: Method, headers: &[(&str, &str)], expected: bool| {
            let mut request = Request::builder().method(method.clone()).uri("/routine");
            for (name, value) in headers {
                request = request.header(*name, *value);
            }
            let request = request.body(()).expect("a request");
            assert_eq!(allows(&request, 8080), expected, "{method} {headers:?}");
        };
        let host = ("host", "127.0.0.1:8080");
        check(Method::GET, &[host], true);
        check(Method::GET, &[("host", "localhost:8080")], true);
        check(Method::GET, &[], false);
        check(Method::GET, &[("host", "127.0.0.1")], false);
        check(Method::GET, &[("host", "127.0.0.1:8081")], false);
        check(Method::GET, &[("host", "rebound.example:8080")], false);
        check(Method::GET, &[("host", "127.0.0.1.example:8080")], false);
        check(Method::GET, &[host, ("host", "other.example")], false);
        check(Method::GET, &[host, ("origin", "http://other.example")], false);
        check(Method::POST, &[host], false);
        check(Method::POST, &[host, ("origin", "http://127.0.0.1:8080")], true);
        check(Method::POST, &[host, ("origin", "https://127.0.0.1:8080")], false);
        check(Method::POST, &[host, ("origin", "http://127.0.0.1:9")], false);
        check(Method::POST, &[host, ("origin", "http://other.example")], false);
        check(Method::POST, &[host, ("origin", "null")], false);
        check(Method::POST, &[host, ("origin", "null"), ("sec-fetch-site", "same-origin")], true);
        check(Method::POST, &[host, ("origin", "null"), ("sec-fetch-site", "cross-site")], false);
        check(Method::POST, &[host, ("sec-fetch-site", "same-site")], false);
    }
}
