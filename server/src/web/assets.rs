//! The screens' files, embedded when the server was built. Any address that is no file is the screens' own to route.

use axum::body::Body;
use axum::http::{HeaderValue, Method, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};

use super::answer::No;

#[derive(rust_embed::RustEmbed)]
#[folder = "../client-web/dist"]
struct Dist;

const WITHOUT_SCREENS: &str = "<!doctype html><meta charset=utf-8><title>Coxswain</title><p>Coxswain serves, but it was built without its screens: run make.</p>";

/// Whether the screens were built in.
pub fn has_screens() -> bool {
    Dist::get("index.html").is_some()
}

/// A file of the screens, or their first page.
pub(super) async fn serve(method: Method, uri: Uri) -> Response {
    if method != Method::GET && method != Method::HEAD {
        return No::new(StatusCode::METHOD_NOT_ALLOWED, "no_such_address", "Only reading is possible here.")
            .into_response();
    }
    let path = uri.path().trim_start_matches('/');
    let path = if path.is_empty() { "index.html" } else { path };
    // The review page routes below its own address.
    let path = if path == "review" || path.starts_with("review/") { "review.html" } else { path };
    match Dist::get(path) {
        Some(file) => content(path, Body::from(file.data.into_owned())),
        // A missing file is missing; a missing page is one of the screens' own addresses.
        None if path.starts_with("assets/") => {
            No::new(StatusCode::NOT_FOUND, "no_such_address", "Nothing is at this address.").into_response()
        }
        None => match Dist::get("index.html") {
            Some(file) => content("index.html", Body::from(file.data.into_owned())),
            None => content("index.html", Body::from(WITHOUT_SCREENS)),
        },
    }
}

fn content(path: &str, body: Body) -> Response {
    let kind = mime_guess::from_path(path).first_or_octet_stream();
    let kind = HeaderValue::from_str(&match kind.type_() {
        mime_guess::mime::TEXT => format!("{}; charset=utf-8", kind.essence_str()),
        _ => kind.essence_str().to_owned(),
    });
    // The build puts a hash of the content into the names below assets/: such a file never changes.
    let cache = if path.starts_with("assets/") { "public, max-age=31536000, immutable" } else { "no-cache" };
    let mut response = body.into_response();
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static(cache));
    if let Ok(kind) = kind {
        response.headers_mut().insert(header::CONTENT_TYPE, kind);
    }
    response
}
