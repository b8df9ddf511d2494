//! Every request that changes something carries its visitor's token: in the header of a script's request, or as the first
//! field of a form, which is looked at before the rest of the body is taken.

use axum::body::{Body, Bytes, HttpBody};
use axum::http::header;
use axum::http::request::Parts;

use super::visitor::{TOKEN, TOKEN_HEADER, Visitor, same};

/// The first field of a form ends within so many bytes.
const MOST_PEEKED: usize = 1024;

/// Whether the token is right; and the body as it was.
pub async fn proven(parts: &Parts, body: Body, visitor: &Visitor) -> (bool, Body) {
    if let Some(said) = parts.headers.get(TOKEN_HEADER) {
        return (said.to_str().is_ok_and(|said| same(said, &visitor.token)), body);
    }
    let Ok((beginning, whole)) = peeked(body).await else { return (false, Body::empty()) };
    let media = parts.headers.get(header::CONTENT_TYPE).and_then(|m| m.to_str().ok()).unwrap_or_default();
    let said = if media.starts_with("multipart/form-data") { of_parts(&beginning) } else { of_form(&beginning) };
    (said.is_some_and(|said| same(said, &visitor.token)), whole)
}

/// The beginning of a body, and the whole of it again.
async fn peeked(body: Body) -> Result<(Vec<u8>, Body), axum::Error> {
    let (mut body, mut taken, mut seen) = (body, Vec::<Bytes>::new(), 0);
    while seen < MOST_PEEKED {
        let next = std::future::poll_fn(|cx| std::pin::Pin::new(&mut body).poll_frame(cx)).await;
        let Some(frame) = next.transpose()? else { break };
        if let Ok(data) = frame.into_data() {
            seen += data.len();
            taken.push(data);
        }
    }
    let beginning: Vec<u8> = taken.iter().flat_map(|b| b.iter().copied()).take(MOST_PEEKED).collect();
    Ok((beginning, Body::new(Again { taken: taken.into_iter().collect(), rest: body })))
}

/// A body whose beginning was taken already.
struct Again {
    taken: std::collections::VecDeque<Bytes>,
    rest: Body,
}

impl HttpBody for Again {
    type Data = Bytes;
    type Error = axum::Error;

    fn poll_frame(
        mut self: std::pin::Pin<&mut Self>,
        cx: &mut std::task::Context<'_>,
    ) -> std::task::Poll<Option<Result<http_body::Frame<Bytes>, axum::Error>>> {
        match self.taken.pop_front() {
            Some(data) => std::task::Poll::Ready(Some(Ok(http_body::Frame::data(data)))),
            None => std::pin::Pin::new(&mut self.rest).poll_frame(cx),
        }
    }

    fn size_hint(&self) -> http_body::SizeHint {
        let taken: u64 = self.taken.iter().map(|b| b.len() as u64).sum();
        let rest = self.rest.size_hint();
        let mut hint = http_body::SizeHint::new();
        hint.set_lower(taken + rest.lower());
        if let Some(upper) = rest.upper() {
            hint.set_upper(taken + upper);
        }
        hint
    }
}

/// The token of an encoded form: its first field.
fn of_form(beginning: &[u8]) -> Option<&str> {
    let first = beginning.split(|b| *b == b'&').next()?;
    std::str::from_utf8(first).ok()?.strip_prefix(TOKEN)?.strip_prefix('=')
}

/// The token of a form in parts: its first part.
fn of_parts(beginning: &[u8]) -> Option<&str> {
    let find = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).position(|w| w == what);
    let head = find(beginning, b"\r\n\r\n")?;
    let names = std::str::from_utf8(&beginning[..head]).ok()?;
    if !names.contains(&format!("name=\"{TOKEN}\"")) {
        return None;
    }
    let value = &beginning[head + 4..];
    std::str::from_utf8(&value[..find(value, b"\r\n")?]).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_token_is_the_first_field() {
        assert_eq!(of_form(b"token=abc&name=x"), Some("abc"));
        assert_eq!(of_form(b"token=abc"), Some("abc"));
        assert_eq!(of_form(b"name=x&token=abc"), None);
        assert_eq!(of_form(b""), None);
        let part = |name: &str| {
            format!("--b\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\nabc\r\n--b\r\nmore").into_bytes()
        };
        assert_eq!(of_parts(&part("token")), Some("abc"));
        assert_eq!(of_parts(&part("photo")), None);
        assert_eq!(of_parts(b"--b\r\nname=\"token\""), None);
    }

    proptest::proptest! {
        /// Whatever the beginning of a body holds, what is taken for the token lies in it.
        #[test]
        fn any_beginning_is_looked_at(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..1100), with in 0_usize..3) {
            let before: &[u8] = [&b""[..], b"token=", b"--b\r\nx: name=\"token\"\r\n\r\n"][with];
            let body = [before, &bytes].concat();
            for said in [of_form(&body), of_parts(&body)].into_iter().flatten() {
                proptest::prop_assert!(body.windows(said.len().max(1)).any(|w| w == said.as_bytes()) || said.is_empty());
            }
        }
    }
}
