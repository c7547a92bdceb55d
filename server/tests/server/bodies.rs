//! Bodies of requests at their limits, over real sockets: whoever sends too much is told so, also while still sending.

use crate::support::{PATIENCE, Reviewer, Running, add_account, put_case, serve};
use coxswain::team::http::ask;
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

const MIB: usize = 1024 * 1024;

/// Sends bytes as they are, and reads until the server closes.
async fn raw(server: &Running, parts: &[&[u8]]) -> String {
    let mut stream = TcpStream::connect(server.address).await.unwrap();
    for part in parts {
        stream.write_all(part).await.unwrap();
    }
    let mut answer = Vec::new();
    tokio::time::timeout(PATIENCE, stream.read_to_end(&mut answer)).await.unwrap().unwrap();
    String::from_utf8(answer).unwrap()
}

fn head(server: &Running, path: &str, more: &str) -> String {
    format!("POST {path} HTTP/1.1\r\nHost: {}\r\nContent-Type: application/json\r\n{more}\r\n", server.address)
}

#[tokio::test]
async fn a_body_above_the_limit_is_answered_with_413_however_it_is_sent() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let changes = format!("/api/review/codes/{id}/changes");
    let large = json!({"head": "", "reason": "x".repeat(3 * MIB), "change": {"kind": "new_version"}});
    let refused = ann.ask("POST", &changes, &large).await;
    let error = refused.json()["error"].clone();
    assert_eq!((refused.status, &error["reason"]), (413, &json!("too_large")), "{}", refused.text);
    let message = error["message"].as_str().unwrap();
    assert!(message.contains("1048576 bytes") && message.contains("the columns start and stop"), "{message}");

    // Also of somebody who is not signed in, with another word in front, and where nothing is.
    let body = large.to_string();
    for (method, path) in
        [("POST", changes.as_str()), ("PUT", &changes), ("POST", "/api/review/session"), ("POST", "/api/review/none")]
    {
        let refused = ask(server.address, method, path, "", &body).await.unwrap();
        assert_eq!((refused.status, &refused.json()["error"]["reason"]), (413, &json!("too_large")), "{method} {path}");
    }
    // The rest was read: the same connection goes on with the next request.
    let length = format!("Content-Length: {}\r\n", body.len());
    let next = format!("GET /healthz HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", server.address);
    let both = raw(&server, &[head(&server, &changes, &length).as_bytes(), body.as_bytes(), next.as_bytes()]).await;
    assert!(both.starts_with("HTTP/1.1 413 ") && both.ends_with("\r\n\r\nok"), "{both}");
    // Its length need not be told beforehand (RFC 9112, 7.1).
    let chunked = format!("{:x}\r\n{body}\r\n0\r\n\r\n", body.len());
    let start = head(&server, &changes, "Transfer-Encoding: chunked\r\nConnection: close\r\n");
    assert!(raw(&server, &[start.as_bytes(), chunked.as_bytes()]).await.starts_with("HTTP/1.1 413 "));
    // Whoever asks first is told before a byte is sent (RFC 9110, 10.1.1).
    let start = head(&server, &changes, &format!("{length}Expect: 100-continue\r\n"));
    assert!(raw(&server, &[start.as_bytes()]).await.starts_with("HTTP/1.1 413 "));
    // Of what is endless not all is read; the answer is sent all the same.
    let start = head(&server, &changes, "Content-Length: 1000000000000\r\n");
    let mut stream = TcpStream::connect(server.address).await.unwrap();
    stream.write_all(start.as_bytes()).await.unwrap();
    let (mut reading, mut writing) = stream.into_split();
    let sending = tokio::spawn(async move {
        let part = vec![b' '; MIB];
        while writing.write_all(&part).await.is_ok() {}
    });
    let mut answer = [0; 13];
    tokio::time::timeout(PATIENCE, reading.read_exact(&mut answer)).await.unwrap().unwrap();
    assert_eq!(&answer, b"HTTP/1.1 413 ");
    tokio::time::timeout(PATIENCE, sending).await.unwrap().unwrap();

    // A tablet's requests are smaller.
    let refused = ask(server.address, "POST", "/api/pair", "", &" ".repeat(65_537)).await.unwrap();
    assert_eq!((refused.status, &refused.json()["error"]["reason"]), (413, &json!("too_large")));
    assert!(refused.text.contains("65536 bytes") && !refused.text.contains("monitor"), "{}", refused.text);
    server.stop().await;
}

/// As many rows as a monitor's file may have, beside columns that nobody reads, and the very last byte that is taken.
#[tokio::test]
async fn what_is_within_the_limit_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let id = put_case(folder.path(), "02").await;
    add_account(folder.path(), "Ann", "reviewer").await;
    let server = serve(folder.path()).await;
    let ann = Reviewer::sign_in(&server, "Ann").await;
    let seen = ann.code(id).await;
    let others = ",\"a, b\"".repeat(40);
    let names: String = (0..40).map(|column| format!(",channel {column}")).collect();
    let rows: String = (0..2_000).map(|row| format!("{}.125,{}.750{others}\n", row * 2, row * 2 + 1)).collect();
    let import = json!({"kind": "import_monitor", "name": "m.csv", "csv": format!("start,stop{names}\n{rows}")});
    assert!(import.to_string().len() > 600_000);
    let imported = ann.changed(&seen, import).await;
    assert_eq!(imported["imports"][0]["stretches"].as_array().unwrap().len(), 2_000);

    let sized = |length: usize| {
        let empty = json!({"head": "", "change": {"kind": "new_version"}, "reason": ""}).to_string();
        json!({"head": "", "change": {"kind": "new_version"}, "reason": "x".repeat(length - empty.len())})
    };
    let changes = format!("/api/review/codes/{id}/changes");
    for (length, status) in [(MIB, 400), (MIB + 1, 413)] {
        let body: Value = sized(length);
        assert_eq!(body.to_string().len(), length);
        assert_eq!(ann.ask("POST", &changes, &body).await.status, status, "{length}");
    }
    server.stop().await;
}
