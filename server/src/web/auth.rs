//! Who asks: a device, by its token, from a cookie or as Bearer. And whether a browser asks for a page of ours.

use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{HeaderMap, StatusCode, header};

use super::App;
use super::answer::No;
use crate::ledger::DeviceRow;
use crate::secret;

/// Name of the cookie. Under TLS with the prefix that lets nobody but this very host set it (RFC 6265bis, 4.1.3.2):
/// browsers refuse that prefix without TLS.
pub(super) const fn cookie_name(secure: bool) -> &'static str {
    if secure { "__Host-coxswain_device" } else { "coxswain_device" }
}

/// The device that asks.
pub(super) struct Asking(pub(super) DeviceRow);

fn token(headers: &HeaderMap, secure: bool) -> Option<&str> {
    let bearer = headers.get(header::AUTHORIZATION).and_then(|value| value.to_str().ok());
    if let Some(token) =
        bearer.and_then(|value| value.strip_prefix("Bearer ").or_else(|| value.strip_prefix("bearer ")))
    {
        return Some(token.trim());
    }
    cookie(headers, cookie_name(secure))
}

/// The value of a cookie.
pub(super) fn cookie<'a>(headers: &'a HeaderMap, wanted: &str) -> Option<&'a str> {
    let cookies = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut pairs = cookies.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(name, _)| *name == wanted).map(|(_, value)| value)
}

impl FromRequestParts<App> for Asking {
    type Rejection = No;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, No> {
        same_origin(&parts.headers, app.reach.is_secure())?;
        let unknown = || No::new(StatusCode::UNAUTHORIZED, "unknown_device", "This device is not paired here.");
        let token = token(&parts.headers, app.reach.is_secure()).ok_or_else(unknown)?;
        let device = app.hub.reader.device_by_token(&secret::token_hash(token)).await;
        match device {
            Ok(Some(device)) => Ok(Self(device)),
            Ok(None) => Err(unknown()),
            Err(error) => Err(No::fault(&error)),
        }
    }
}

/// A browser says from whose page it asks: that must be ours. A program that says nothing is no browser.
///
/// # Errors
/// If the page is another server's.
pub(super) fn same_origin(headers: &HeaderMap, secure: bool) -> Result<(), No> {
    let Some(origin) = headers.get(header::ORIGIN) else { return Ok(()) };
    let host = headers.get(header::HOST).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let origin = origin.to_str().unwrap_or_default();
    let scheme = if secure { "https" } else { "http" };
    let ours = origin
        .split_once("://")
        .is_some_and(|(from, authority)| from == scheme && !host.is_empty() && authority.eq_ignore_ascii_case(host));
    if ours {
        Ok(())
    } else {
        Err(No::new(StatusCode::FORBIDDEN, "other_origin", "This request comes from a page of another server."))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(header::HeaderName, &str)]) -> HeaderMap {
        pairs.iter().map(|(name, value)| (name.clone(), value.parse().unwrap())).collect()
    }

    #[test]
    fn a_token_comes_as_bearer_or_in_the_cookie() {
        assert_eq!(token(&headers(&[(header::AUTHORIZATION, "Bearer abc")]), false), Some("abc"));
        assert_eq!(token(&headers(&[(header::COOKIE, "a=b; coxswain_device=abc; c=d")]), false), Some("abc"));
        assert_eq!(token(&headers(&[(header::COOKIE, "other=abc")]), false), None);
        // Under TLS only the name that no other host can set.
        assert_eq!(token(&headers(&[(header::COOKIE, "coxswain_device=abc")]), true), None);
        assert_eq!(token(&headers(&[(header::COOKIE, "__Host-coxswain_device=abc")]), true), Some("abc"));
    }

    #[test]
    fn a_page_of_another_server_is_refused() {
        let from = |origin: &str, secure| {
            same_origin(&headers(&[(header::HOST, "10.0.0.5:8080"), (header::ORIGIN, origin)]), secure)
        };
        assert!(from("http://10.0.0.5:8080", false).is_ok());
        assert!(from("http://10.0.0.6:8080", false).is_err());
        assert!(from("null", false).is_err());
        assert!(from("https://10.0.0.5:8080", true).is_ok());
        // Anybody on the network can put a page in place of our plain one.
        assert!(from("http://10.0.0.5:8080", true).is_err());
        assert!(same_origin(&headers(&[(header::HOST, "10.0.0.5:8080")]), true).is_ok());
    }
}
