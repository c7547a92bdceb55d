//! Takes the body of a request before anybody looks at the request, and answers what is too large so that the answer arrives:
//! whoever still sends reads no answer, and a connection that is closed on unread bytes is reset, which takes the answer away.

use std::time::Duration;

use axum::body::{Body, Bytes, HttpBody, to_bytes};
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use futures_util::StreamExt;

use super::answer::No;

/// Largest body of a request, in bytes.
pub(super) const MAX_BODY_BYTES: usize = 64 * 1024;
/// Largest body of a request of review, in bytes: a monitor's file is in it.
pub(super) const MAX_REVIEW_BODY_BYTES: usize = 1024 * 1024;
/// So much beyond the limit is read and dropped, in bytes; whoever sends more is cut off.
const MAX_DROPPED_BYTES: usize = 32 * 1024 * 1024;
/// For so long it is read and dropped.
const DROPPED_WITHIN: Duration = Duration::from_secs(10);

/// Lets a request on once all of its body is here, and answers 413 `too_large` if that is more than is taken at this address.
pub(super) async fn taken_whole(request: Request, next: Next) -> Response {
    if request.body().is_end_stream() {
        return next.run(request).await;
    }
    let (parts, body) = request.into_parts();
    let is_review = parts.uri.path().starts_with("/api/review/");
    let limit = if is_review { MAX_REVIEW_BODY_BYTES } else { MAX_BODY_BYTES };
    let told = told_length(&parts.headers);
    // It asks first whether it may send so much.
    if told.is_some_and(|told| told > limit) && parts.headers.contains_key(header::EXPECT) {
        return too_large(limit, is_review, false);
    }
    match whole(body, limit).await {
        Ok(Some(bytes)) => next.run(Request::from_parts(parts, Body::from(bytes))).await,
        Ok(None) => No::field("malformed", "", "The body ended before its time.").into_response(),
        Err(TooLarge { all_read }) => too_large(limit, is_review, all_read),
    }
}

/// The body of a request that [`taken_whole`] let on.
///
/// # Errors
/// If it was not let on by that.
pub(super) async fn bytes_of(request: Request) -> Result<Bytes, No> {
    to_bytes(request.into_body(), MAX_REVIEW_BODY_BYTES).await.map_err(|error| No::fault(&error))
}

fn told_length(headers: &HeaderMap) -> Option<usize> {
    headers.get(header::CONTENT_LENGTH)?.to_str().ok()?.parse().ok()
}

/// A body is larger than is taken.
struct TooLarge {
    /// Whether the rest was read, so that the connection can go on.
    all_read: bool,
}

/// Reads a body; `None` if it broke off. Of one that is too large nothing is kept.
async fn whole(body: Body, limit: usize) -> Result<Option<Bytes>, TooLarge> {
    let mut parts = body.into_data_stream();
    let mut bytes = Vec::new();
    while let Some(part) = parts.next().await {
        let Ok(part) = part else { return Ok(None) };
        if bytes.len() + part.len() <= limit {
            bytes.extend_from_slice(&part);
            continue;
        }
        drop(bytes);
        let rest = async {
            let mut dropped = 0;
            while let Some(Ok(part)) = parts.next().await {
                dropped += part.len();
                if dropped > MAX_DROPPED_BYTES {
                    return false;
                }
            }
            true
        };
        let all_read = tokio::time::timeout(DROPPED_WITHIN, rest).await.unwrap_or(false);
        return Err(TooLarge { all_read });
    }
    Ok(Some(Bytes::from(bytes)))
}

fn too_large(limit: usize, is_review: bool, all_read: bool) -> Response {
    let mut message =
        format!("This request has more than the {limit} bytes that are taken at once: shorten what it says.");
    if is_review {
        message.push_str(" Of a monitor's file only the columns start and stop are needed.");
    }
    let mut answer = No::new(StatusCode::PAYLOAD_TOO_LARGE, "too_large", message).into_response();
    if !all_read {
        answer.headers_mut().insert(header::CONNECTION, HeaderValue::from_static("close"));
    }
    answer
}
