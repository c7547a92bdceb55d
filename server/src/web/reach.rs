//! Under which addresses tablets reach this server.

use crate::tls::Tls;

/// How a tablet reaches this server.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Without TLS.
    Plain,
    /// By TLS that browsers trust already: the hospital's.
    Trusted,
    /// By TLS of the department's own authority, which each tablet has to trust first.
    OwnAuthority,
}

impl Reach {
    /// What a server with this TLS, or none, is reached by.
    pub fn by(tls: Option<&Tls>) -> Self {
        match tls.map(Tls::authority) {
            None => Self::Plain,
            Some(None) => Self::Trusted,
            Some(Some(_)) => Self::OwnAuthority,
        }
    }

    /// Whether records and cookies travel by TLS.
    pub fn is_secure(self) -> bool {
        self != Self::Plain
    }

    /// The address of the screens on a host (with its port).
    pub fn screens(self, host: &str) -> String {
        if self.is_secure() { format!("https://{host}") } else { format!("http://{host}") }
    }

    /// The address that pairs a tablet. With an authority of our own it is the plain page, which helps a tablet that does
    /// not trust this server yet, and sends on one that does; the code stands where no browser sends it over the wire.
    pub fn pairing(self, host: &str, join_code: &str) -> String {
        match self {
            Self::Plain | Self::Trusted => format!("{}/pair?code={join_code}", self.screens(host)),
            Self::OwnAuthority => format!("http://{host}/pair#code={join_code}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_join_code_is_never_sent_over_the_wire_without_tls_where_there_is_tls() {
        for reach in [Reach::Trusted, Reach::OwnAuthority] {
            let url = reach.pairing("10.0.0.5:8080", "123456");
            let sent = url.split('#').next().unwrap();
            assert!(url.contains("123456") && (url.starts_with("https://") || !sent.contains("123456")), "{url}");
        }
        assert_eq!(Reach::Plain.pairing("10.0.0.5:8080", "123456"), "http://10.0.0.5:8080/pair?code=123456");
    }
}
