//! Exports over HTTP: the bytes that the command line writes, through the same code.

use axum::body::{Body, Bytes};
use axum::extract::{Path, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use futures_util::future::try_join_all;
use futures_util::stream;

use super::asking::Reviewing;
use super::codes::{code_id, unknown, unknown_version};
use super::parameters::Parameters;
use crate::export::{Failed, Format, Parts};
use crate::review::signed::{self, NoVersion};
use crate::review::wire::Deed;
use crate::web::App;
use crate::web::answer::No;

/// What kind of file is asked for.
struct Wanted {
    format: Format,
    deidentified: bool,
}

impl Wanted {
    fn of(asked: &Parameters) -> Result<Self, No> {
        let formats = "jsonl, csv, csv-codes or fhir";
        let missing = || No::field("malformed", "format", format!("format: must be {formats}."));
        Ok(Self {
            format: asked.read("format", Format::named, formats)?.ok_or_else(missing)?,
            deidentified: asked.truth("deidentified")?.unwrap_or(false),
        })
    }

    /// What the access log says.
    fn detail(&self, since: Option<&str>) -> String {
        let hidden = if self.deidentified { ", de-identified" } else { "" };
        let since = since.map(|day| format!(", since {day}")).unwrap_or_default();
        format!("{}{hidden}{since}", self.format.name())
    }

    fn headers(&self, name: &str) -> [(header::HeaderName, HeaderValue); 2] {
        let hidden = if self.deidentified { "-deidentified" } else { "" };
        let disposition = format!("attachment; filename=\"{name}{hidden}{}\"", self.format.ending());
        let disposition = HeaderValue::from_str(&disposition).unwrap_or(HeaderValue::from_static("attachment"));
        [
            (header::CONTENT_TYPE, HeaderValue::from_static(self.format.media_type())),
            (header::CONTENT_DISPOSITION, disposition),
        ]
    }
}

fn no_version(error: &NoVersion) -> No {
    match error {
        NoVersion::NotSigned(_) => unknown_version(),
        NoVersion::Altered(_) => {
            let message = "This chain is not the one that was signed: `coxswain verify` says where it is broken.";
            No::new(StatusCode::CONFLICT, "chain_broken", message)
        }
    }
}

/// `GET /api/review/codes/{id}/export`
pub(super) async fn one(
    State(app): State<App>,
    who: Reviewing,
    Path(id): Path<String>,
    asked: Parameters,
) -> Result<Response, No> {
    asked.only(&["format", "deidentified", "version"])?;
    let id = code_id(&id)?;
    let wanted = Wanted::of(&asked)?;
    let version = asked.version()?;
    let stored = app.hub.reader.code(id).await.map_err(|error| No::fault(&error))?.ok_or_else(unknown)?;
    if let Some(number) = version {
        signed::version(stored, number).map_err(|error| no_version(&error))?;
    }
    let of_version = version.map(|number| format!(", version {number}")).unwrap_or_default();
    who.log(&app, Deed::Exported, Some(id), Some(wanted.detail(None) + &of_version)).await?;
    let mut parts = Parts::of_code(app.hub.reader.clone(), id, version, wanted.format, wanted.deidentified);
    // One code is small: it is made whole before anything is sent, so that a fault is an answer and not half a file.
    let mut text = String::new();
    while let Some(part) = parts.next().await {
        text.push_str(&part.map_err(|error| No::fault(&error))?);
    }
    // The name of a de-identified file must not tell which code it was.
    let name = match (wanted.deidentified, version) {
        (true, _) => "code".to_owned(),
        (false, None) => format!("code-{id}"),
        (false, Some(number)) => format!("code-{id}-version-{number}"),
    };
    Ok((wanted.headers(&name), text).into_response())
}

/// `GET /api/review/export`
pub(super) async fn many(State(app): State<App>, who: Reviewing, asked: Parameters) -> Result<Response, No> {
    asked.only(&["format", "deidentified", "since"])?;
    let wanted = Wanted::of(&asked)?;
    let day = |text: &str| text.parse::<jiff::civil::Date>().ok().map(|day| day.to_string());
    let since = asked.read("since", day, "a day such as 2026-11-01")?;
    let detail = wanted.detail(since.as_deref());
    who.log(&app, Deed::Exported, None, Some(detail.clone())).await?;
    let reader = app.hub.reader.clone();
    let parts = Parts::of_all(reader, since.as_deref(), wanted.format, wanted.deidentified).await;
    let parts = parts.map_err(|error| No::fault(&error))?;
    // Whoever may open one of these codes sees that it was in the file: handed over together, so that the disk is waited for once.
    let in_file =
        parts.codes().map(|code| who.log(&app, Deed::Exported, Some(code), Some(format!("with others: {detail}"))));
    try_join_all(in_file).await?;
    // A fault on the way breaks the connection off, so that nobody takes what came for the whole file.
    let body = stream::unfold(parts, |mut parts| async {
        let part: Result<Bytes, Failed> = parts.next().await?.map(Bytes::from);
        if let Err(error) = &part {
            tracing::error!(%error, "an export broke off");
        }
        Some((part, parts))
    });
    Ok((wanted.headers("codes"), Body::from_stream(body)).into_response())
}
