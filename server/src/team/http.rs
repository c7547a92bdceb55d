//! The two HTTP requests a player needs, over a plain socket. It is no general client: one request a connection, answers
//! of known length only.

use std::io;
use std::net::SocketAddr;
use std::time::Duration;

use serde_json::Value;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// Longest answer that is read, in bytes; a whole exported code fits.
const MAX_ANSWER_BYTES: u64 = 16 * 1024 * 1024;
/// Longest time for a request and its answer.
const PATIENCE: Duration = Duration::from_secs(10);

/// What the server said.
#[derive(Debug, Clone, PartialEq)]
pub struct HttpAnswer {
    /// Status code.
    pub status: u16,
    /// Header lines, lower case names first.
    pub headers: Vec<(String, String)>,
    /// Body as text.
    pub text: String,
}

impl HttpAnswer {
    /// The body as JSON; null if it is none.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or(Value::Null)
    }
}

/// Asks for a page.
///
/// # Errors
/// If the server cannot be reached or does not answer in HTTP.
pub async fn get(address: SocketAddr, path: &str, token: Option<&str>) -> io::Result<HttpAnswer> {
    ask(address, "GET", path, &authorization(token), "").await
}

/// Sends a JSON body.
///
/// # Errors
/// If the server cannot be reached or does not answer in HTTP.
pub async fn post(address: SocketAddr, path: &str, token: Option<&str>, body: &Value) -> io::Result<HttpAnswer> {
    ask(address, "POST", path, &authorization(token), &body.to_string()).await
}

fn authorization(token: Option<&str>) -> String {
    token.map(|token| format!("Authorization: Bearer {token}\r\n")).unwrap_or_default()
}

/// Asks in any way. `headers` are whole lines, each with its line end.
///
/// # Errors
/// If the server cannot be reached or does not answer in HTTP.
pub async fn ask(address: SocketAddr, method: &str, path: &str, headers: &str, body: &str) -> io::Result<HttpAnswer> {
    let whole = async {
        let mut stream = TcpStream::connect(address).await?;
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nAccept: application/json\r\n{headers}\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        );
        stream.write_all(request.as_bytes()).await?;
        let mut answer = Vec::new();
        stream.take(MAX_ANSWER_BYTES).read_to_end(&mut answer).await?;
        read(&answer)
    };
    tokio::time::timeout(PATIENCE, whole)
        .await
        .unwrap_or_else(|_| Err(io::Error::new(io::ErrorKind::TimedOut, "the server did not answer in 10 s")))
}

fn read(answer: &[u8]) -> io::Result<HttpAnswer> {
    let broken = || io::Error::new(io::ErrorKind::InvalidData, "the answer is not HTTP");
    let end = answer.windows(4).position(|window| window == b"\r\n\r\n").ok_or_else(broken)?;
    let head = std::str::from_utf8(&answer[..end]).map_err(|_| broken())?;
    let mut lines = head.split("\r\n");
    let status = lines.next().and_then(|line| line.split(' ').nth(1)).and_then(|code| code.parse().ok());
    let headers: Vec<_> = lines
        .filter_map(|line| line.split_once(':'))
        .map(|(name, value)| (name.trim().to_ascii_lowercase(), value.trim().to_owned()))
        .collect();
    let mut body = &answer[end + 4..];
    let mut joined = Vec::new();
    if headers.iter().any(|(name, value)| name == "transfer-encoding" && value.eq_ignore_ascii_case("chunked")) {
        while let Some(line) = body.windows(2).position(|window| window == b"\r\n") {
            let size =
                std::str::from_utf8(&body[..line]).ok().and_then(|text| usize::from_str_radix(text.trim(), 16).ok());
            let size = size.ok_or_else(broken)?;
            let chunk = body.get(line + 2..line + 2 + size).ok_or_else(broken)?;
            if size == 0 {
                break;
            }
            joined.extend_from_slice(chunk);
            body = body.get(line + 4 + size..).unwrap_or_default();
        }
        body = &joined;
    }
    Ok(HttpAnswer { status: status.ok_or_else(broken)?, text: String::from_utf8_lossy(body).into_owned(), headers })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_and_chunked_answers_are_read() {
        let plain = read(b"HTTP/1.1 201 Created\r\nContent-Length: 7\r\nX-A: b\r\n\r\n{\"a\":1}").unwrap();
        assert_eq!((plain.status, plain.json()), (201, serde_json::json!({"a": 1})));
        assert!(plain.headers.contains(&("x-a".to_owned(), "b".to_owned())));
        let chunked =
            read(b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\n{\"a\r\n4\r\n\":1}\r\n0\r\n\r\n").unwrap();
        assert_eq!(chunked.json(), serde_json::json!({"a": 1}));
        assert!(read(b"nonsense").is_err());
    }
}
