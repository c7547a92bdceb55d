//! The certificate that is shown to a tablet, and its renewal while the server runs.

use std::collections::BTreeSet;
use std::net::IpAddr;
use std::path::PathBuf;
use std::sync::{Arc, PoisonError, RwLock};
use std::time::SystemTime;

use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use tokio_rustls::rustls::server::{ClientHello, ResolvesServerCert};
use tokio_rustls::rustls::sign::CertifiedKey;

use super::authority::Authority;
use super::{TlsError, authority};
use crate::machine;

/// A certificate of our own is made anew after so many days, long before it ends.
const RENEW_AFTER_DAYS: i64 = 30;

/// Where certificates come from.
#[derive(Debug)]
enum Origin {
    /// The department's own authority: the server's key lives in memory only.
    Authority { authority: Box<Authority>, names: BTreeSet<String> },
    /// Two files that somebody else renews.
    Files { certificate: PathBuf, key: PathBuf },
}

/// The certificate shown now.
#[derive(Debug)]
struct Shown {
    key: Arc<CertifiedKey>,
    since: SystemTime,
    /// The addresses it was made for, or when its files were last written.
    of: Of,
}

#[derive(Debug, PartialEq, Eq)]
enum Of {
    Addresses(BTreeSet<IpAddr>),
    Written(Option<SystemTime>, Option<SystemTime>),
}

/// The certificate shown now, and where the next one comes from.
#[derive(Debug)]
pub(super) struct Keyring {
    origin: Origin,
    shown: RwLock<Shown>,
}

impl Keyring {
    pub(super) fn of_authority(authority: Authority, names: BTreeSet<String>) -> Result<Self, TlsError> {
        Self::new(Origin::Authority { authority: Box::new(authority), names })
    }

    pub(super) fn of_files(certificate: PathBuf, key: PathBuf) -> Result<Self, TlsError> {
        Self::new(Origin::Files { certificate, key })
    }

    fn new(origin: Origin) -> Result<Self, TlsError> {
        let of = origin.now();
        let key = origin.certified(&of)?;
        Ok(Self { origin, shown: RwLock::new(Shown { key, since: SystemTime::now(), of }) })
    }

    pub(super) fn authority(&self) -> Option<&Authority> {
        match &self.origin {
            Origin::Authority { authority, .. } => Some(authority),
            Origin::Files { .. } => None,
        }
    }

    /// Shows a new certificate if the one shown is old, or what it was made of has changed.
    pub(super) fn refresh(&self) -> Result<(), TlsError> {
        let of = self.origin.now();
        {
            let shown = self.shown.read().unwrap_or_else(PoisonError::into_inner);
            let old = matches!(of, Of::Addresses(_)) && days_since(shown.since) >= RENEW_AFTER_DAYS;
            if shown.of == of && !old {
                return Ok(());
            }
        }
        let key = self.origin.certified(&of)?;
        *self.shown.write().unwrap_or_else(PoisonError::into_inner) = Shown { key, since: SystemTime::now(), of };
        tracing::info!("a new certificate is shown");
        Ok(())
    }
}

impl ResolvesServerCert for Keyring {
    fn resolve(&self, _hello: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(Arc::clone(&self.shown.read().unwrap_or_else(PoisonError::into_inner).key))
    }
}

impl Origin {
    fn now(&self) -> Of {
        let written = |path: &PathBuf| std::fs::metadata(path).and_then(|data| data.modified()).ok();
        match self {
            Self::Authority { .. } => Of::Addresses(machine::addresses()),
            Self::Files { certificate, key } => Of::Written(written(certificate), written(key)),
        }
    }

    fn certified(&self, of: &Of) -> Result<Arc<CertifiedKey>, TlsError> {
        match (self, of) {
            (Self::Authority { authority, names }, Of::Addresses(addresses)) => {
                let authority::Leaf { certificate, key } = authority.certify(names, addresses)?;
                certified(vec![certificate], key).map_err(TlsError)
            }
            (Self::Authority { .. }, Of::Written(..)) => Err(TlsError("no addresses are known".to_owned())),
            (Self::Files { certificate, key }, _) => {
                let chain = CertificateDer::pem_file_iter(certificate)
                    .and_then(Iterator::collect::<Result<Vec<_>, _>>)
                    .map_err(|error| TlsError::file(certificate, error))?;
                if chain.is_empty() {
                    return Err(TlsError::file(certificate, "has no certificate in it; give it in PEM"));
                }
                let private = PrivateKeyDer::from_pem_file(key)
                    .map_err(|error| TlsError::file(key, format!("has no private key in it: {error}")))?;
                certified(chain, private).map_err(|problem| TlsError::file(key, problem))
            }
        }
    }
}

fn certified(chain: Vec<CertificateDer<'static>>, key: PrivateKeyDer<'static>) -> Result<Arc<CertifiedKey>, String> {
    let made = CertifiedKey::from_der(chain, key, &ring::default_provider());
    made.map(Arc::new).map_err(|error| format!("does not fit the certificate: {error}"))
}
/// Whole days since a moment.
fn days_since(since: SystemTime) -> i64 {
    let elapsed = SystemTime::now().duration_since(since).unwrap_or_default();
    i64::try_from(elapsed.as_secs() / 86_400).unwrap_or(i64::MAX)
}
