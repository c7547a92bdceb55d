//! The names that this server answers to. A page of another site can point a name of its own at our address, and its
//! requests then look like our own page's; but it cannot make a browser send another name than that one.

use std::collections::BTreeSet;
use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::{HeaderMap, StatusCode, header, uri::Authority};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::answer::No;
use crate::machine;

/// Names of this server beside its numeric addresses, which need none.
#[derive(Debug, Clone)]
pub struct Hosts(Arc<BTreeSet<String>>);

impl Hosts {
    /// This machine's own names, and what the department adds.
    pub fn of_this_machine(added: &[String]) -> Self {
        let added = added.iter().map(|name| name.to_lowercase()).filter(|name| !name.is_empty());
        Self(Arc::new(machine::names().into_iter().chain(added).collect()))
    }

    /// The names, in small letters.
    pub fn names(&self) -> &BTreeSet<String> {
        &self.0
    }

    fn answer_to(&self, headers: &HeaderMap) -> bool {
        let Some(host) = headers.get(header::HOST) else { return false };
        let Some(authority) = host.to_str().ok().and_then(|host| host.parse::<Authority>().ok()) else { return false };
        let name = authority.host().trim_start_matches('[').trim_end_matches(']');
        name.parse::<std::net::IpAddr>().is_ok() || self.0.contains(&name.trim_end_matches('.').to_lowercase())
    }
}

/// Refuses a request that is for another name.
pub(super) async fn ours_only(State(hosts): State<Hosts>, request: Request, next: Next) -> Response {
    if hosts.answer_to(request.headers()) {
        return next.run(request).await;
    }
    let message =
        "This server does not answer to the name in `Host`; start it with `--name NAME` if it is one of its own.";
    No::new(StatusCode::MISDIRECTED_REQUEST, "other_host", message).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numeric_addresses_and_the_servers_own_names_are_answered_to() {
        let hosts = Hosts::of_this_machine(&["Codes.Hospital.Example".to_owned()]);
        let asked = |host: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, host.parse().unwrap());
            hosts.answer_to(&headers)
        };
        for ours in ["10.0.0.5:8080", "127.0.0.1", "[::1]:8080", "localhost:8080", "codes.hospital.example:443"] {
            assert!(asked(ours), "{ours}");
        }
        for other in ["other.example:8080", "10.0.0.5.other.example", "localhost.other.example", "a b", ""] {
            assert!(!asked(other), "{other}");
        }
        assert!(!hosts.answer_to(&HeaderMap::new()));
    }
}
