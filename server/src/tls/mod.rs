//! Encryption on the wire. Browsers keep the screen awake and start without the network only for pages that came over TLS,
//! and a department's own network has no certificate that the world knows: so the server can be its own authority.

mod authority;
mod keyring;
mod port;

use std::collections::BTreeSet;
use std::fmt;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;

use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::{self, ServerConfig};

pub use authority::Authority;
use keyring::Keyring;
pub(crate) use port::{Arrivals, sort};

use crate::machine;

/// How often the certificate is looked at: an address may change, a file may be renewed.
const LOOK_EVERY: Duration = Duration::from_secs(60);

/// What `--tls` says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Choice {
    /// Without: for a laptop alone, or behind a proxy that has TLS.
    Off,
    /// By an authority of the department's own, kept in the data folder.
    Local,
    /// By the hospital's certificate and key.
    Files {
        /// The certificate, and those between it and its authority, in PEM.
        certificate: PathBuf,
        /// Its key in PEM.
        key: PathBuf,
    },
}

impl Choice {
    /// What holds where nobody said: this machine alone needs no TLS, everything else does.
    pub fn usual(listen: SocketAddr) -> Self {
        if listen.ip().is_loopback() { Self::Off } else { Self::Local }
    }
}

impl FromStr for Choice {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text {
            "off" => Ok(Self::Off),
            "local" => Ok(Self::Local),
            files => match files.split_once(',') {
                Some((certificate, key)) if !certificate.is_empty() && !key.is_empty() => {
                    Ok(Self::Files { certificate: certificate.into(), key: key.into() })
                }
                Some(_) | None => Err("give local, off, or a certificate and its key as CERT.pem,KEY.pem".to_owned()),
            },
        }
    }
}

/// Why TLS cannot be had.
#[derive(Debug)]
pub struct TlsError(String);

impl TlsError {
    fn file(path: &Path, problem: impl fmt::Display) -> Self {
        Self(format!("{}: {problem}", path.display()))
    }
}

impl fmt::Display for TlsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for TlsError {}

/// TLS that is ready to be spoken.
#[derive(Debug, Clone)]
pub struct Tls {
    keyring: Arc<Keyring>,
    config: Arc<ServerConfig>,
}

impl Tls {
    /// Makes or reads what the choice names; nothing for `off`. `names` are those this server answers to.
    ///
    /// # Errors
    /// Names the file that cannot be read, or what does not fit.
    pub fn new(choice: &Choice, data: &Path, names: &BTreeSet<String>) -> Result<Option<Self>, TlsError> {
        let keyring = match choice {
            Choice::Off => return Ok(None),
            Choice::Local => {
                let authority = Authority::open(&data.join("tls"), names, &machine::addresses())?;
                Keyring::of_authority(authority, names.clone())?
            }
            Choice::Files { certificate, key } => Keyring::of_files(certificate.clone(), key.clone())?,
        };
        let keyring = Arc::new(keyring);
        let builder = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()));
        let builder = builder.with_safe_default_protocol_versions().map_err(|error| TlsError(error.to_string()))?;
        let resolver: Arc<dyn rustls::server::ResolvesServerCert> = Arc::<Keyring>::clone(&keyring);
        let mut config = builder.with_no_client_auth().with_cert_resolver(resolver);
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Some(Self { keyring, config: Arc::new(config) }))
    }

    /// The department's own authority, where there is one for tablets to trust.
    pub fn authority(&self) -> Option<&Authority> {
        self.keyring.authority()
    }

    pub(crate) fn acceptor(&self) -> TlsAcceptor {
        TlsAcceptor::from(Arc::clone(&self.config))
    }

    /// Keeps the certificate good for as long as the server runs. What cannot be renewed is logged, and the old one stays.
    pub(crate) async fn keep_fresh(self) {
        let mut look = tokio::time::interval(LOOK_EVERY);
        loop {
            look.tick().await;
            let keyring = Arc::clone(&self.keyring);
            let refreshed = tokio::task::spawn_blocking(move || keyring.refresh()).await;
            if let Ok(Err(error)) = refreshed {
                tracing::error!(%error, "the certificate could not be renewed; the one before stays");
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tls_is_off_for_this_machine_alone_and_local_for_a_network() {
        for (listen, usual) in [
            ("127.0.0.1:8080", Choice::Off),
            ("[::1]:8080", Choice::Off),
            ("0.0.0.0:8080", Choice::Local),
            ("10.0.0.5:8080", Choice::Local),
        ] {
            assert_eq!(Choice::usual(listen.parse().unwrap()), usual, "{listen}");
        }
    }

    #[test]
    fn a_choice_is_local_off_or_two_files() {
        assert_eq!("off".parse(), Ok(Choice::Off));
        assert_eq!("local".parse(), Ok(Choice::Local));
        let files = Choice::Files { certificate: "a/cert.pem".into(), key: "key.pem".into() };
        assert_eq!("a/cert.pem,key.pem".parse(), Ok(files));
        for wrong in ["on", "", "cert.pem", ",key.pem", "cert.pem,"] {
            assert!(wrong.parse::<Choice>().is_err(), "{wrong}");
        }
    }
}
