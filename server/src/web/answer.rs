//! Answers that say no: a named reason, the field if there is one, and a plain sentence. Causes go to the log, never out.

use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde_json::{Map, Value, json};

/// An answer that says no.
#[derive(Debug)]
pub(super) struct No {
    status: StatusCode,
    reason: &'static str,
    field: Option<String>,
    id: Option<uuid::Uuid>,
    message: String,
    /// What stands beside the error: how the thing is now, how long to wait.
    beside: Map<String, Value>,
}

impl No {
    /// With a status, a named reason and a sentence.
    pub(super) fn new(status: StatusCode, reason: &'static str, message: impl Into<String>) -> Self {
        Self { status, reason, field: None, id: None, message: message.into(), beside: Map::new() }
    }

    /// A request whose field is missing or wrong.
    pub(super) fn field(reason: &'static str, field: impl Into<String>, message: impl Into<String>) -> Self {
        let mut no = Self::new(StatusCode::BAD_REQUEST, reason, message);
        no.field = Some(field.into());
        no
    }

    /// Names the thing it is about.
    pub(super) fn about(mut self, id: uuid::Uuid) -> Self {
        self.id = Some(id);
        self
    }

    /// Says something more beside the error.
    pub(super) fn beside(mut self, name: &str, value: Value) -> Self {
        self.beside.insert(name.to_owned(), value);
        self
    }

    /// A fault outside of the request; the cause is logged here.
    pub(super) fn fault(cause: &dyn std::fmt::Display) -> Self {
        tracing::error!(%cause, "a request could not be served");
        Self::new(StatusCode::INTERNAL_SERVER_ERROR, "fault", "The server met a fault; its log says more.")
    }
}

impl IntoResponse for No {
    fn into_response(self) -> Response {
        let mut error = json!({"reason": self.reason, "message": self.message});
        if let Some(field) = self.field {
            error["field"] = field.into();
        }
        if let Some(id) = self.id {
            error["id"] = id.to_string().into();
        }
        let mut whole = self.beside;
        whole.insert("error".to_owned(), error);
        (self.status, Json(whole)).into_response()
    }
}

/// Nothing is at this address.
pub(super) async fn no_such_address() -> No {
    No::new(StatusCode::NOT_FOUND, "no_such_address", "Nothing is at this address.")
}

/// The address is right, the method is not.
pub(super) async fn no_such_method(method: axum::http::Method) -> No {
    No::new(StatusCode::METHOD_NOT_ALLOWED, "no_such_method", format!("This address does not take {method}."))
}
