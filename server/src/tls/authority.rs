//! The department's own certificate authority: made on first start, kept in the data folder, trusted once by each tablet.
//!
//! A tablet that trusts an authority believes it of every site, unless the authority's own certificate says for which names
//! it may vouch (RFC 5280, 4.2.1.10). This one is held to the names and addresses that this machine had when it was made,
//! and to private networks: whoever steals its key cannot pass for a bank.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::net::IpAddr;
use std::os::unix::fs::{DirBuilderExt, OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa, Issuer,
    KeyPair, KeyUsagePurpose, NameConstraints, SanType,
};
use sha2::{Digest, Sha256};
use time::{Duration, OffsetDateTime};
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
use x509_parser::extensions::GeneralName;
use x509_parser::prelude::{FromDer, X509Certificate};

use super::TlsError;

/// Tablets have to trust a new authority by hand: seldom enough, and within what systems accept.
const AUTHORITY_DAYS: i64 = 3_650;
/// A certificate of the server itself, made anew at each start and long before this is over.
const LEAF_DAYS: i64 = 90;
/// Clocks of tablets without the internet run behind.
const BACKDATED_DAYS: i64 = 30;
/// So long before its end the console asks for a new authority.
const WARN_DAYS: i64 = 60;

/// Networks that no site of the internet has (RFC 1918, 3927, 4193, 4291, 6598), and this machine itself.
const PRIVATE: &[(&str, u8)] = &[
    ("10.0.0.0", 8),
    ("172.16.0.0", 12),
    ("192.168.0.0", 16),
    ("169.254.0.0", 16),
    ("100.64.0.0", 10),
    ("127.0.0.0", 8),
    ("fc00::", 7),
    ("fe80::", 10),
    ("::1", 128),
];

/// A certificate authority with its key.
pub struct Authority {
    issuer: Issuer<'static, KeyPair>,
    certificate: CertificateDer<'static>,
    bounds: Bounds,
    not_after: OffsetDateTime,
}

/// For what an authority may vouch.
struct Bounds {
    names: BTreeSet<String>,
    /// An address and its mask, of 4 or 16 bytes each.
    networks: Vec<(Vec<u8>, Vec<u8>)>,
}

impl std::fmt::Debug for Authority {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // The key stays out of logs.
        f.debug_struct("Authority").field("fingerprint", &self.fingerprint()).finish_non_exhaustive()
    }
}

/// A certificate of the server, with its key.
pub(super) struct Leaf {
    pub(super) certificate: CertificateDer<'static>,
    pub(super) key: PrivateKeyDer<'static>,
}

impl Authority {
    /// Reads the authority of a folder, or makes one there that may vouch for these names and addresses.
    ///
    /// # Errors
    /// If the folder cannot be used, what is in it is no authority, it is over, or it may not vouch for one of the names.
    pub fn open(folder: &Path, names: &BTreeSet<String>, addresses: &BTreeSet<IpAddr>) -> Result<Self, TlsError> {
        let (certificate, key) = (folder.join("authority.pem"), folder.join("authority-key.pem"));
        match (certificate.exists(), key.exists()) {
            (true, true) => {}
            (false, false) => make(folder, &certificate, &key, (names, addresses))?,
            (_, true) => return Err(half(&certificate)),
            (true, _) => return Err(half(&key)),
        }
        let authority = read(&certificate, &key)?;
        if authority.not_after <= OffsetDateTime::now_utc() {
            let problem = format!("this authority ended on {}; {ANEW}", authority.not_after.date());
            return Err(TlsError::file(&certificate, problem));
        }
        match names.iter().find(|name| !authority.may_vouch_for(name)) {
            None => Ok(authority),
            Some(name) => {
                let problem = format!("this authority was made for other names and may not vouch for `{name}`; {ANEW}");
                Err(TlsError::file(&certificate, problem))
            }
        }
    }

    /// The certificate that tablets trust, in DER.
    pub fn certificate(&self) -> &CertificateDer<'static> {
        &self.certificate
    }

    /// SHA-256 of the certificate, as devices show it: pairs of hexadecimal digits, parted by colons.
    pub fn fingerprint(&self) -> String {
        let digest = Sha256::digest(&self.certificate);
        digest.iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(":")
    }

    /// Days until it ends, once that is worth saying.
    pub fn ends_in_days(&self) -> Option<i64> {
        let days = (self.not_after - OffsetDateTime::now_utc()).whole_days();
        (days <= WARN_DAYS).then_some(days)
    }

    fn may_vouch_for(&self, name: &str) -> bool {
        self.bounds.names.iter().any(|own| name == own || name.ends_with(&format!(".{own}")))
    }

    /// Whether the server's certificate may have this address in it: one that the machine got later may be outside.
    pub fn may_vouch_for_address(&self, address: IpAddr) -> bool {
        let bytes = match address {
            IpAddr::V4(address) => address.octets().to_vec(),
            IpAddr::V6(address) => address.octets().to_vec(),
        };
        self.bounds.networks.iter().any(|(network, mask)| {
            network.len() == bytes.len()
                && network.iter().zip(mask).zip(&bytes).all(|((network, mask), byte)| network & mask == byte & mask)
        })
    }

    /// A certificate for the server under these names and addresses, with a new key. What the authority may not vouch for
    /// is left out: a certificate with it would be refused as a whole.
    pub(super) fn certify(&self, names: &BTreeSet<String>, addresses: &BTreeSet<IpAddr>) -> Result<Leaf, TlsError> {
        let refused = |error: rcgen::Error| TlsError(format!("no certificate could be made: {error}"));
        let own = names.iter().filter(|name| self.may_vouch_for(name)).cloned();
        let mut params = CertificateParams::new(own.collect::<Vec<_>>()).map_err(refused)?;
        let own = addresses.iter().filter(|address| self.may_vouch_for_address(**address));
        params.subject_alt_names.extend(own.map(|address| SanType::IpAddress(*address)));
        params.distinguished_name.push(DnType::CommonName, "Coxswain");
        params.not_before = OffsetDateTime::now_utc() - Duration::days(BACKDATED_DAYS);
        params.not_after = (OffsetDateTime::now_utc() + Duration::days(LEAF_DAYS)).min(self.not_after);
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;
        let key = KeyPair::generate().map_err(refused)?;
        let certificate = params.signed_by(&key, &self.issuer).map_err(refused)?;
        let key = PrivateKeyDer::try_from(key.serialize_der()).map_err(|error| TlsError(error.to_owned()))?;
        Ok(Leaf { certificate: certificate.der().clone(), key })
    }
}

const ANEW: &str = "move the folder away for a new one to be made, which every tablet has to trust anew";

fn half(missing: &Path) -> TlsError {
    TlsError::file(missing, format!("is missing beside its other half; bring it back from the backup, or {ANEW}"))
}

/// Makes an authority and writes its two files, the key first and for its owner alone.
fn make(
    folder: &Path,
    certificate: &Path,
    key: &Path,
    (names, addresses): (&BTreeSet<String>, &BTreeSet<IpAddr>),
) -> Result<(), TlsError> {
    let refused = |error: rcgen::Error| TlsError(format!("no authority could be made: {error}"));
    let today = OffsetDateTime::now_utc();
    let mut params = CertificateParams::default();
    params.not_before = today - Duration::days(BACKDATED_DAYS);
    params.not_after = today + Duration::days(AUTHORITY_DAYS);
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    params.distinguished_name = rcgen::DistinguishedName::new();
    // The name is what a person looks for in the list of a tablet's settings.
    let machine = names.iter().find(|name| *name != "localhost").map_or("this machine", String::as_str);
    let common = format!("Coxswain on {machine}, {}", today.date());
    params.distinguished_name.push(DnType::CommonName, common.chars().take(64).collect::<String>());
    let dns = names.iter().cloned().map(GeneralSubtree::DnsName);
    let private = PRIVATE.iter().filter_map(|(network, prefix)| Some((network.parse().ok()?, *prefix)));
    // Some hospitals number their own machines as the internet does: this machine's address, and no other.
    let own = addresses.iter().map(|address| (*address, if address.is_ipv4() { 32 } else { 128 }));
    let networks = private
        .chain(own)
        .map(|(network, prefix)| GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(network, prefix)));
    params.name_constraints =
        Some(NameConstraints { permitted_subtrees: dns.chain(networks).collect(), excluded_subtrees: Vec::new() });
    let pair = KeyPair::generate().map_err(refused)?;
    let made = params.self_signed(&pair).map_err(refused)?;
    fs::DirBuilder::new().recursive(true).mode(0o700).create(folder).map_err(|error| TlsError::file(folder, error))?;
    write_new(key, &pair.serialize_pem(), 0o600)?;
    write_new(certificate, &made.pem(), 0o644)
}

/// Writes a whole file under another name first, so that a crash leaves no half of it.
fn write_new(path: &Path, text: &str, mode: u32) -> Result<(), TlsError> {
    let unfinished = path.with_extension("new");
    let write = || -> std::io::Result<()> {
        let _ = fs::remove_file(&unfinished);
        let mut file = fs::OpenOptions::new().write(true).create_new(true).mode(mode).open(&unfinished)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&unfinished, path)
    };
    write().map_err(|error| TlsError::file(path, error))
}

fn read(certificate_path: &PathBuf, key_path: &PathBuf) -> Result<Authority, TlsError> {
    let mode = fs::metadata(key_path).map_err(|error| TlsError::file(key_path, error))?.permissions().mode();
    if mode & 0o077 != 0 {
        let problem = format!("others can read this key (mode {:o}); run chmod 600 on it, or {ANEW}", mode & 0o777);
        return Err(TlsError::file(key_path, problem));
    }
    let key_text = fs::read_to_string(key_path).map_err(|error| TlsError::file(key_path, error))?;
    let key = KeyPair::from_pem(&key_text).map_err(|error| TlsError::file(key_path, error))?;
    let certificate =
        CertificateDer::from_pem_file(certificate_path).map_err(|error| TlsError::file(certificate_path, error))?;
    let (bounds, not_after, public_key) = inside(&certificate).ok_or_else(|| {
        TlsError::file(certificate_path, format!("is no certificate of an authority that was made here; {ANEW}"))
    })?;
    if public_key != key.public_key_raw() {
        return Err(TlsError::file(key_path, format!("is not the key of the certificate beside it; {ANEW}")));
    }
    let issuer =
        Issuer::from_ca_cert_der(&certificate, key).map_err(|error| TlsError::file(certificate_path, error))?;
    Ok(Authority { issuer, certificate, bounds, not_after })
}

/// What a certificate may vouch for, its end and its public key; nothing where it is no authority with bounds.
fn inside(certificate: &CertificateDer<'_>) -> Option<(Bounds, OffsetDateTime, Vec<u8>)> {
    let (_, parsed) = X509Certificate::from_der(certificate).ok()?;
    if !parsed.is_ca() {
        return None;
    }
    let mut bounds = Bounds { names: BTreeSet::new(), networks: Vec::new() };
    for subtree in parsed.name_constraints().ok()??.value.permitted_subtrees.as_ref()? {
        match &subtree.base {
            GeneralName::DNSName(name) => drop(bounds.names.insert((*name).to_owned())),
            GeneralName::IPAddress(bytes) => {
                let (network, mask) = bytes.split_at(bytes.len() / 2);
                bounds.networks.push((network.to_vec(), mask.to_vec()));
            }
            _ => {}
        }
    }
    let key = parsed.public_key().subject_public_key.data.to_vec();
    Some((bounds, parsed.validity().not_after.to_datetime(), key))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(names: &[&str]) -> BTreeSet<String> {
        names.iter().map(|name| (*name).to_owned()).collect()
    }

    #[test]
    fn an_authority_is_made_once_and_its_key_is_for_its_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let tls = folder.path().join("tls");
        let first = Authority::open(&tls, &names(&["localhost", "codes.local"]), &BTreeSet::new()).unwrap();
        let again = Authority::open(&tls, &names(&["codes.local"]), &BTreeSet::new()).unwrap();
        assert_eq!(first.fingerprint(), again.fingerprint());
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!((mode(&tls), mode(&tls.join("authority-key.pem"))), (0o700, 0o600));
        assert_eq!(again.ends_in_days(), None);
    }

    #[test]
    fn what_does_not_fit_is_refused_by_file_and_reason() {
        let folder = tempfile::tempdir().unwrap();
        let tls = folder.path().join("tls");
        Authority::open(&tls, &names(&["localhost"]), &BTreeSet::new()).unwrap();
        let refusal = |wanted: &str, asked: &[&str]| {
            let error = Authority::open(&tls, &names(asked), &BTreeSet::new()).unwrap_err().to_string();
            assert!(error.contains(wanted), "{error}");
        };
        refusal(
            "authority.pem: this authority was made for other names and may not vouch for `codes.example`",
            &["codes.example"],
        );
        let key = tls.join("authority-key.pem");
        fs::set_permissions(&key, fs::Permissions::from_mode(0o640)).unwrap();
        refusal("others can read this key (mode 640)", &["localhost"]);
        fs::set_permissions(&key, fs::Permissions::from_mode(0o600)).unwrap();
        let other = folder.path().join("other");
        Authority::open(&other, &names(&["localhost"]), &BTreeSet::new()).unwrap();
        fs::copy(other.join("authority.pem"), tls.join("authority.pem")).unwrap();
        refusal("authority-key.pem: is not the key of the certificate beside it", &["localhost"]);
        fs::write(tls.join("authority.pem"), "nothing").unwrap();
        refusal("authority.pem: ", &["localhost"]);
        fs::remove_file(tls.join("authority.pem")).unwrap();
        refusal("authority.pem: is missing beside its other half", &["localhost"]);
    }

    #[test]
    fn private_networks_and_this_machines_address_are_vouched_for_and_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let own = ["192.0.2.2".parse().unwrap(), "2001:db8::2".parse().unwrap()].into();
        let authority = Authority::open(&folder.path().join("tls"), &names(&["localhost"]), &own).unwrap();
        let may = |address: &str| authority.may_vouch_for_address(address.parse().unwrap());
        for ours in [
            "10.1.2.3",
            "172.31.0.1",
            "192.168.1.1",
            "127.0.0.1",
            "169.254.1.1",
            "100.64.0.1",
            "::1",
            "fd00::1",
            "fe80::1",
            "192.0.2.2",
            "2001:db8::2",
        ] {
            assert!(may(ours), "{ours}");
        }
        for other in ["8.8.8.8", "172.32.0.1", "192.169.0.1", "100.128.0.1", "192.0.2.3", "2001:db8::3", "::2"] {
            assert!(!may(other), "{other}");
        }
    }
}
