//! TLS as a tablet meets it: the department's own authority, the plain page beside it, and the hospital's files.

use std::collections::BTreeSet;
use std::net::SocketAddr;
use std::path::Path;
use std::sync::Arc;

use coxswain::team::http::{HttpAnswer, get, post};
use coxswain::tls::{Authority, Choice, Tls};
use futures_util::StreamExt;
use serde_json::json;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};
use tokio_tungstenite::tungstenite::client::IntoClientRequest;

use crate::support::{PASSWORD, PATIENCE, add_account, serve_by};

fn names() -> BTreeSet<String> {
    ["localhost", "codes.local"].map(str::to_owned).into()
}

fn local(data: &Path) -> Tls {
    Tls::new(&Choice::Local, data, &names()).unwrap().unwrap()
}

/// What a tablet trusts: these authorities, and no other.
fn tablet(trusted: &[&CertificateDer<'static>]) -> TlsConnector {
    let mut roots = RootCertStore::empty();
    for authority in trusted {
        roots.add((*authority).clone()).unwrap();
    }
    let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_root_certificates(roots)
        .with_no_client_auth();
    TlsConnector::from(Arc::new(config))
}

async fn connect(tablet: &TlsConnector, address: SocketAddr, name: &str) -> std::io::Result<TlsStream<TcpStream>> {
    let name = ServerName::try_from(name.to_owned()).unwrap();
    tablet.connect(name, TcpStream::connect(address).await?).await
}

/// One request over TLS, and the whole answer.
async fn ask(stream: &mut TlsStream<TcpStream>, request: &str, host: &str, body: &str) -> String {
    let length = body.len();
    let head = format!(
        "{request} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Type: application/json\r\n\
         Content-Length: {length}\r\n\r\n"
    );
    stream.write_all(format!("{head}{body}").as_bytes()).await.unwrap();
    let mut answer = Vec::new();
    // The end of the connection may come without the last word of TLS.
    let _ = stream.read_to_end(&mut answer).await;
    String::from_utf8(answer).unwrap()
}

/// RFC 6265bis 4.1.3.2: the prefix asks for Secure, Path=/ and no Domain; scripts and other sites' pages do not get it either.
fn closed_cookie(cookie: &str) {
    assert!(cookie.starts_with("__Host-") && !cookie.to_lowercase().contains("domain"), "{cookie}");
    for wanted in ["Path=/", "Secure", "HttpOnly", "SameSite=Strict"] {
        assert_eq!(cookie.split("; ").filter(|part| *part == wanted).count(), 1, "{wanted} in {cookie}");
    }
}

fn header<'a>(answer: &'a HttpAnswer, name: &str) -> Option<&'a str> {
    answer.headers.iter().find(|(known, _)| known == name).map(|(_, value)| value.as_str())
}

#[tokio::test]
async fn a_tablet_that_trusts_the_authority_pairs_and_joins_and_one_that_does_not_cannot() {
    let folder = tempfile::tempdir().unwrap();
    let tls = local(folder.path());
    let authority = tls.authority().unwrap().certificate().clone();
    let server = serve_by(folder.path(), Some(tls)).await;
    let (address, trusting) = (server.address, tablet(&[&authority]));
    for name in ["127.0.0.1", "localhost", "codes.local"] {
        let mut stream = connect(&trusting, address, name).await.unwrap();
        assert!(ask(&mut stream, "GET /healthz", "localhost", "").await.ends_with("\r\n\r\nok"), "{name}");
    }
    assert!(connect(&trusting, address, "bank.example").await.is_err(), "a name that is not the server's");
    assert!(connect(&tablet(&[]), address, "localhost").await.is_err(), "nobody told this tablet to trust");

    let mut stream = connect(&trusting, address, "localhost").await.unwrap();
    let body = json!({"join_code": server.join_code, "name": "Bay 1"}).to_string();
    let paired = ask(&mut stream, "POST /api/pair", "localhost", &body).await;
    let cookie = paired.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap().to_owned();
    assert!(cookie.starts_with("__Host-coxswain_device="), "{cookie}");
    closed_cookie(&cookie);
    let stream = connect(&trusting, address, "localhost").await.unwrap();
    let mut request = "wss://localhost/ws".into_client_request().unwrap();
    let pair = cookie.split(';').next().unwrap();
    request.headers_mut().insert("cookie", pair.parse().unwrap());
    request.headers_mut().insert("origin", "https://localhost".parse().unwrap());
    let (mut socket, _) = tokio_tungstenite::client_async(request, stream).await.unwrap();
    let first = tokio::time::timeout(PATIENCE, socket.next()).await.unwrap().unwrap().unwrap();
    assert!(first.to_text().unwrap().contains("\"welcome\""), "{first}");
    drop(socket);
    server.stop().await;
}

/// The session's cookie of a reviewer, when it is given and when it is taken back; under no other name it opens anything.
#[tokio::test]
async fn a_reviewers_cookie_goes_by_tls_alone() {
    let folder = tempfile::tempdir().unwrap();
    add_account(folder.path(), "Ann", "reviewer").await;
    let tls = local(folder.path());
    let trusting = tablet(&[tls.authority().unwrap().certificate()]);
    let server = serve_by(folder.path(), Some(tls)).await;
    let ask_with = async |request: &str, cookie: &str, body: &str| {
        let mut stream = connect(&trusting, server.address, "localhost").await.unwrap();
        let host = format!("localhost\r\nCookie: {cookie}");
        ask(&mut stream, request, &host, body).await
    };
    let cookie_of =
        |answer: &str| answer.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap().to_owned();
    let body = json!({"name": "Ann", "password": PASSWORD}).to_string();
    let signed_in = ask_with("POST /api/review/session", "", &body).await;
    assert!(signed_in.starts_with("HTTP/1.1 201 "), "{signed_in}");
    let cookie = cookie_of(&signed_in);
    assert!(cookie.starts_with("__Host-coxswain_review=") && cookie.contains("; Max-Age=43200;"), "{cookie}");
    closed_cookie(&cookie);
    let pair = cookie.split(';').next().unwrap();
    let token = pair.split_once('=').unwrap().1;
    for (sent, status) in [
        (pair.to_owned(), 200),
        (format!("coxswain_review={token}"), 401),
        (format!("__Host-coxswain_device={token}"), 401),
    ] {
        let answer = ask_with("GET /api/review/session", &sent, "").await;
        assert!(answer.starts_with(&format!("HTTP/1.1 {status} ")), "{sent}: {answer}");
    }
    let signed_out = ask_with("DELETE /api/review/session", pair, "").await;
    let gone = cookie_of(&signed_out);
    assert!(gone.starts_with("__Host-coxswain_review=;") && gone.contains("; Max-Age=0;"), "{gone}");
    closed_cookie(&gone);
    // Without TLS no session is begun, and none goes on.
    let body = json!({"name": "Ann", "password": PASSWORD});
    let plain = post(server.address, "/api/review/session", None, &body).await;
    assert_eq!(plain.unwrap().json()["error"]["reason"], "tls_needed");
    server.stop().await;
}

#[tokio::test]
async fn without_tls_the_port_helps_and_takes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let tls = local(folder.path());
    let (certificate, fingerprint) =
        (tls.authority().unwrap().certificate().to_vec(), tls.authority().unwrap().fingerprint());
    let server = serve_by(folder.path(), Some(tls)).await;
    let address = server.address;
    for page in ["/", "/pair"] {
        let page = get(address, page, None).await.unwrap();
        assert!(page.status == 200 && page.text.contains(&fingerprint) && page.text.contains("/authority.crt"));
    }
    let mut plain = TcpStream::connect(address).await.unwrap();
    plain.write_all(b"GET /authority.crt HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n").await.unwrap();
    let mut answer = Vec::new();
    plain.read_to_end(&mut answer).await.unwrap();
    assert!(answer.ends_with(&certificate));
    assert!(String::from_utf8_lossy(&answer).contains("content-type: application/x-x509-ca-cert"));

    assert_eq!(get(address, "/healthz", None).await.unwrap().text, "ok");
    let elsewhere = get(address, "/review?code=1", None).await.unwrap();
    assert_eq!(elsewhere.status, 308);
    assert_eq!(header(&elsewhere, "location"), Some(format!("https://{address}/review?code=1").as_str()));
    let body = json!({"join_code": server.join_code, "name": "Bay 1"});
    for refused in [post(address, "/api/pair", None, &body).await, get(address, "/api/codes", None).await] {
        let refused = refused.unwrap();
        assert_eq!((refused.status, refused.json()["error"]["reason"].as_str()), (403, Some("tls_needed")));
    }
    server.stop().await;
}

/// Somebody who opens the port and says nothing, or begins a handshake and stops, keeps nobody else waiting.
#[tokio::test]
async fn whoever_says_nothing_keeps_nobody_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let tls = local(folder.path());
    let authority = tls.authority().unwrap().certificate().clone();
    let server = serve_by(folder.path(), Some(tls)).await;
    let mut silent = Vec::new();
    for place in 0..40 {
        let mut stream = TcpStream::connect(server.address).await.unwrap();
        if place % 2 == 0 {
            stream.write_all(&[0x16, 0x03, 0x01]).await.unwrap();
        }
        silent.push(stream);
    }
    let mut stream = connect(&tablet(&[&authority]), server.address, "localhost").await.unwrap();
    assert!(ask(&mut stream, "GET /healthz", "localhost", "").await.ends_with("ok"));
    drop(silent);
    server.stop().await;
}

/// RFC 5280, 4.2.1.10: a tablet refuses what this authority signs for a name that is not the server's, however it is made.
#[tokio::test]
async fn a_stolen_key_of_the_authority_passes_for_no_other_site() {
    let folder = tempfile::tempdir().unwrap();
    Authority::open(&folder.path().join("tls"), &names(), &BTreeSet::new()).unwrap();
    let key = std::fs::read_to_string(folder.path().join("tls/authority-key.pem")).unwrap();
    let pem = std::fs::read_to_string(folder.path().join("tls/authority.pem")).unwrap();
    let issuer = rcgen::Issuer::from_ca_cert_pem(&pem, rcgen::KeyPair::from_pem(&key).unwrap()).unwrap();
    let sign = |name: &str, file: &str| {
        let mut params = rcgen::CertificateParams::new(vec![name.to_owned()]).unwrap();
        params.not_after = rcgen::date_time_ymd(2100, 1, 1);
        let pair = rcgen::KeyPair::generate().unwrap();
        let made = params.signed_by(&pair, &issuer).unwrap();
        std::fs::write(folder.path().join(format!("{file}.pem")), made.pem()).unwrap();
        std::fs::write(folder.path().join(format!("{file}-key.pem")), pair.serialize_pem()).unwrap();
    };
    let authority =
        Authority::open(&folder.path().join("tls"), &names(), &BTreeSet::new()).unwrap().certificate().clone();
    for (name, passes) in [("ward.codes.local", true), ("10.1.2.3", true), ("bank.example", false), ("8.8.8.8", false)]
    {
        sign(name, "made");
        let [certificate, key] = ["made.pem", "made-key.pem"].map(|file| folder.path().join(file));
        let tls = Tls::new(&Choice::Files { certificate, key }, folder.path(), &names()).unwrap();
        let server = serve_by(folder.path(), tls).await;
        let connected = connect(&tablet(&[&authority]), server.address, name).await;
        assert_eq!(connected.is_ok(), passes, "{name}: {:?}", connected.err());
        server.stop().await;
    }
}

#[tokio::test]
async fn the_hospitals_files_are_used_and_wrong_ones_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let made = rcgen::generate_simple_self_signed(vec!["codes.local".to_owned()]).unwrap();
    let [certificate, key] = ["cert.pem", "key.pem"].map(|file| folder.path().join(file));
    let choice = Choice::Files { certificate: certificate.clone(), key: key.clone() };
    let refusal = || Tls::new(&choice, folder.path(), &names()).unwrap_err().to_string();
    assert!(refusal().contains("cert.pem: "), "{}", refusal());
    std::fs::write(&certificate, made.cert.pem()).unwrap();
    assert!(refusal().contains("key.pem: has no private key in it"), "{}", refusal());
    let other = rcgen::KeyPair::generate().unwrap();
    std::fs::write(&key, other.serialize_pem()).unwrap();
    assert!(refusal().contains("key.pem: does not fit the certificate"), "{}", refusal());
    std::fs::write(&key, made.signing_key.serialize_pem()).unwrap();

    let tls = Tls::new(&choice, folder.path(), &names()).unwrap();
    assert!(tls.as_ref().unwrap().authority().is_none());
    let server = serve_by(folder.path(), tls).await;
    let mut stream = connect(&tablet(&[made.cert.der()]), server.address, "codes.local").await.unwrap();
    assert!(ask(&mut stream, "GET /healthz", "localhost", "").await.ends_with("ok"));
    // Nothing has to be trusted first: every page is at the real address.
    assert_eq!(get(server.address, "/", None).await.unwrap().status, 308);
    server.stop().await;
}
