//! The list of codes, one code, and what is appended to it.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use coxswain_engine::event::FieldError;
use uuid::Uuid;

use super::asking::{Body, Reviewing, on_disk};
use super::parameters::{FILTERS, Parameters};
use crate::ledger::chain::Hash;
use crate::live::NotAppended;
use crate::review::change::{self, NotMade};
use crate::review::desk::Draft;
use crate::review::line;
use crate::review::reading::{Reading, Unreadable};
use crate::review::shown::{head_of, shown};
use crate::review::wire::{
    AccessPage, AccountRole, Change, ChangeRequest, CodePage, Conflict, DebriefRequest, Deed, ReviewedCode,
    SignatureRequest,
};
use crate::web::App;
use crate::web::answer::No;

/// Codes on a page of the list.
const PER_PAGE: u64 = 50;
/// Entries on a page of the access log.
const LOG_PER_PAGE: u64 = 100;

/// `GET /api/review/codes`
pub(super) async fn list(State(app): State<App>, who: Reviewing, asked: Parameters) -> Result<Json<CodePage>, No> {
    asked.only(&[FILTERS, &["page"]].concat())?;
    let filter = asked.filter()?;
    let (page, offset) = asked.page(PER_PAGE)?;
    who.log(&app, Deed::Listed, None, None).await?;
    // What a change has just made stale is shown as it is now; after an upgrade the rest is made beside.
    let fault = |error: sqlx::Error| No::fault(&error);
    line::make_stale(&app.hub, true, line::WHILE_ASKED).await.map_err(fault)?;
    let reader = &app.hub.reader;
    let total = reader.count_lines(&filter).await.map_err(fault)?;
    let codes = reader.lines(&filter, PER_PAGE, offset).await.map_err(fault)?;
    let (locations, protocols) = reader.line_choices().await.map_err(fault)?;
    let unfinished = reader.count_stale_lines().await.map_err(fault)?;
    let unreadable = reader.count_unreadable().await.map_err(fault)?;
    let pages = total.div_ceil(PER_PAGE).max(1);
    Ok(Json(CodePage { codes, page, pages, total, unfinished, unreadable, locations, protocols }))
}

pub(super) fn unknown() -> No {
    No::new(StatusCode::NOT_FOUND, "unknown_code", "There is no such code.")
}

pub(super) fn unknown_version() -> No {
    No::new(StatusCode::NOT_FOUND, "unknown_version", "No version of that number was signed.")
}

/// Reads a code: all of it, or a version that was signed.
async fn reading(app: &App, id: Uuid, version: Option<u32>) -> Result<Reading, No> {
    let stored = app.hub.reader.code(id).await.map_err(|error| No::fault(&error))?.ok_or_else(unknown)?;
    match Reading::of(stored, version) {
        Ok(reading) => Ok(reading),
        Err(Unreadable::NoSuchVersion) => Err(unknown_version()),
        Err(Unreadable::Fault(problem)) => Err(No::fault(&problem)),
    }
}

async fn as_shown(app: &App, reading: &Reading, latest: bool) -> Result<ReviewedCode, No> {
    let reader = &app.hub.reader;
    let log = reader.prompts(reading.stored.place).await.map_err(|error| No::fault(&error))?;
    let devices = reader.device_names().await.map_err(|error| No::fault(&error))?;
    Ok(shown(reading, &log, &devices, latest))
}

pub(super) fn code_id(id: &str) -> Result<Uuid, No> {
    Uuid::parse_str(id).map_err(|_| unknown())
}

/// `GET /api/review/codes/{id}`
pub(super) async fn one(
    State(app): State<App>,
    who: Reviewing,
    Path(id): Path<String>,
    asked: Parameters,
) -> Result<Json<ReviewedCode>, No> {
    asked.only(&["version"])?;
    let id = code_id(&id)?;
    let version = asked.version()?;
    let mut seen = reading(&app, id, version).await?;
    who.log(&app, Deed::Opened, Some(id), version.map(|number| format!("version {number}"))).await?;
    // What waited for the disk is there now, since the log was written behind it: on a slow disk a change that was answered
    // with `not_saved` must not be missing in the very next look.
    if version.is_none()
        && app.hub.reader.code(id).await.map_err(|error| No::fault(&error))?.as_ref() != Some(&seen.stored)
    {
        seen = reading(&app, id, None).await?;
    }
    Ok(Json(as_shown(&app, &seen, version.is_none()).await?))
}

fn conflict(conflict: Conflict, message: &str) -> No {
    let reason = match conflict {
        Conflict::ChangedMeanwhile => "changed_meanwhile",
        Conflict::CodeRunning => "code_running",
        Conflict::Signed => "signed",
        Conflict::NotSigned => "not_signed",
        Conflict::ChoiceNotCurrent => "choice_not_current",
        Conflict::ChainBroken => "chain_broken",
    };
    No::new(StatusCode::CONFLICT, reason, message)
}

/// Somebody else was quicker: how the code stands now goes with the refusal, and nothing was overwritten.
async fn changed_meanwhile(app: &App, who: &Reviewing, id: Uuid) -> No {
    let message = "This record was changed since you looked: see how it stands now, and decide anew.";
    let no = conflict(Conflict::ChangedMeanwhile, message);
    // The answer shows the whole record: that is an opening like any other.
    if let Err(no) = who.log(app, Deed::Opened, Some(id), Some("changed meanwhile".to_owned())).await {
        return no;
    }
    // What the other one made may be on its way to the disk still.
    if let Err(no) = on_disk(app, app.hub.writer.flush()).await {
        return no;
    }
    let now = match reading(app, id, None).await {
        Ok(reading) => as_shown(app, &reading, true).await,
        Err(no) => return no,
    };
    match now.map(|code| serde_json::to_value(&code)) {
        Ok(Ok(code)) => no.beside("code", code),
        Ok(Err(error)) => No::fault(&error),
        Err(no) => no,
    }
}

fn wrong(error: FieldError) -> No {
    let message = format!("{}: {}.", error.field, error.problem);
    No::field("malformed", error.field, message)
}

/// Appends to a code what is made from it, if it is still as the reviewer saw it.
async fn append(
    app: &App,
    who: &Reviewing,
    id: &str,
    head: &str,
    deed: Deed,
    detail: Option<String>,
    make: impl FnOnce(&Reading, i64) -> Result<Vec<Draft>, NotMade> + Send + 'static,
) -> Result<Response, No> {
    let id = code_id(id)?;
    let head: Hash = head_of(head).ok_or_else(|| {
        No::field("malformed", "head", "head: must be the 64 hexadecimal digits of the head that you saw.")
    })?;
    let seen = reading(app, id, None).await?;
    if seen.head != head {
        return Err(changed_meanwhile(app, who, id).await);
    }
    let now_ms = seen.stored.epoch_ms.map_or(0, |epoch_ms| app.hub.clock.now_ms() - epoch_ms);
    // A record from before the machine's clock was set has times beyond now; none of them is still to come.
    let now_ms = seen.records.iter().map(|record| record.known_ms().max(record.at_ms)).max().unwrap_or(0).max(now_ms);
    // A choice over a long record takes a while: the prompts of a running code must not wait behind it.
    let made = tokio::task::spawn_blocking(move || make(&seen, now_ms)).await.map_err(|error| No::fault(&error))?;
    let drafts = made.map_err(|not| match not {
        NotMade::Wrong(error) => wrong(error),
        NotMade::Conflict(kind, message) => conflict(kind, message),
    })?;
    // Logged first: what was done and not logged would be worse than what was logged and not done.
    who.log(app, deed, Some(id), detail).await?;
    match on_disk(app, app.hub.review(id, &who.author(), head, &drafts)).await?.map_err(|error| No::fault(&error))? {
        Ok(()) => {}
        Err(NotAppended::ChangedMeanwhile) => return Err(changed_meanwhile(app, who, id).await),
        Err(NotAppended::Running) => {
            let message = "This code runs again: it is corrected at its own screens until it is closed.";
            return Err(conflict(Conflict::CodeRunning, message));
        }
        Err(NotAppended::WouldReopen) => {
            let message = "change: with it the code would not be closed any more, and would run again at the bedside.";
            return Err(No::field("malformed", "change", message));
        }
        Err(NotAppended::Unknown) => return Err(unknown()),
        Err(NotAppended::Fault) => return Err(No::fault(&"what a reviewer made could not be appended")),
    }
    let now = reading(app, id, None).await?;
    let kept = drafts.iter().all(|draft| now.records.iter().any(|record| record.id == draft.id));
    if !kept {
        return Err(No::fault(&"what a reviewer made is not in the chain"));
    }
    Ok((StatusCode::CREATED, Json(as_shown(app, &now, true).await?)).into_response())
}

const fn kind_of(change: &Change) -> &'static str {
    match change {
        Change::Amend { .. } => "amend",
        Change::Void { .. } => "void",
        Change::Add { .. } => "add",
        Change::Align { .. } => "align",
        Change::ImportMonitor { .. } => "import_monitor",
        Change::ChooseSource { .. } => "choose_source",
        Change::NewVersion => "new_version",
    }
}

/// `POST /api/review/codes/{id}/changes`
pub(super) async fn change(
    State(app): State<App>,
    who: Reviewing,
    Path(id): Path<String>,
    Body(asked): Body<ChangeRequest>,
) -> Result<Response, No> {
    let detail = Some(kind_of(&asked.change).to_owned());
    let ChangeRequest { head, reason, change } = asked;
    let make = move |seen: &Reading, now_ms: i64| change::made(seen, &change, &reason, now_ms);
    append(&app, &who, &id, &head, Deed::Changed, detail, make).await
}

/// `POST /api/review/codes/{id}/debrief`
pub(super) async fn debrief(
    State(app): State<App>,
    who: Reviewing,
    Path(id): Path<String>,
    Body(asked): Body<DebriefRequest>,
) -> Result<Response, No> {
    let head = asked.head.clone();
    let make = move |seen: &Reading, _now_ms: i64| change::debriefed(seen, &asked);
    append(&app, &who, &id, &head, Deed::Debriefed, None, make).await
}

/// `POST /api/review/codes/{id}/signature`
pub(super) async fn sign(
    State(app): State<App>,
    who: Reviewing,
    Path(id): Path<String>,
    Body(asked): Body<SignatureRequest>,
) -> Result<Response, No> {
    let make = |seen: &Reading, _now_ms: i64| change::signed(seen);
    append(&app, &who, &id, &asked.head, Deed::Signed, None, make).await
}

/// `GET /api/review/access_log`: all of it for administrators; of one code for whoever may open it.
pub(super) async fn access_log(
    State(app): State<App>,
    who: Reviewing,
    asked: Parameters,
) -> Result<Json<AccessPage>, No> {
    asked.only(&["code", "page"])?;
    let code = asked.text("code").map(|id| code_id(&id)).transpose()?;
    if code.is_none() && who.account.role != AccountRole::Administrator {
        let message = "The whole access log is for administrators; name a `code` to see who opened that one.";
        return Err(No::new(StatusCode::FORBIDDEN, "administrators_only", message));
    }
    let (page, offset) = asked.page(LOG_PER_PAGE)?;
    who.log(&app, Deed::LogRead, code, None).await?;
    let found = app.hub.reader.accesses(code, LOG_PER_PAGE, offset).await;
    let (entries, count) = found.map_err(|error| No::fault(&error))?;
    Ok(Json(AccessPage { entries, page, pages: count.div_ceil(LOG_PER_PAGE).max(1) }))
}
