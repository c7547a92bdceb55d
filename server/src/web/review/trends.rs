//! Trends over HTTP: one side, or two periods or places side by side.

use axum::Json;
use axum::extract::State;
use coxswain_engine::stats::{FEW, SETTLED_POINTS};

use super::asking::Reviewing;
use super::parameters::{FILTERS, Parameters};
use crate::ledger::Reader;
use crate::review::line;
use crate::review::trends::{Tally, TrendSide, TrendsAnswer};
use crate::review::wire::{CodeFilter, Deed};
use crate::web::App;
use crate::web::answer::No;

/// Parameters that begin with this are the second side's, in place of the first side's of the same name.
const THAN: &str = "than_";

/// The sides that are asked for. Who does not ask for drills gets real codes: they are never in one number.
fn sides(asked: Parameters) -> Result<Vec<CodeFilter>, No> {
    let than: Vec<String> = FILTERS.iter().map(|name| format!("{THAN}{name}")).collect();
    asked.only(&FILTERS.iter().copied().chain(than.iter().map(String::as_str)).collect::<Vec<_>>())?;
    let (first, second) = asked.sides(THAN);
    let filter = |asked: Parameters| {
        let filter = asked.filter()?;
        Ok(CodeFilter { training: Some(filter.training.unwrap_or(false)), ..filter })
    };
    [Some(first), second].into_iter().flatten().map(filter).collect()
}

/// `GET /api/review/trends`
pub(super) async fn show(State(app): State<App>, who: Reviewing, asked: Parameters) -> Result<Json<TrendsAnswer>, No> {
    let filters = sides(asked)?;
    who.log(&app, Deed::Trended, None, None).await?;
    line::make_stale(&app.hub, true, line::WHILE_ASKED).await.map_err(|error| No::fault(&error))?;
    let reader = &app.hub.reader;
    let mut sides = Vec::new();
    for filter in filters {
        sides.push(TrendSide { trends: tallied(reader, &filter).await?.trends(), filter });
    }
    let unfinished = reader.count_stale_lines().await.map_err(|error| No::fault(&error))?;
    Ok(Json(TrendsAnswer { sides, few_below: FEW, settled_points: SETTLED_POINTS, unfinished }))
}

/// Adds up the codes that a filter lets through. Tens of thousands take a while: they are added on a thread of their own, as the next
/// are read, since the prompts of a running code must not wait behind them.
async fn tallied(reader: &Reader, filter: &CodeFilter) -> Result<Tally, No> {
    let mut tally = Tally::of(filter);
    let mut next = reader.points(filter, 0).await.map_err(|error| No::fault(&error))?;
    while let Some((last, points)) = next {
        let adding = tokio::task::spawn_blocking(move || tally.add_all(&points).map(|()| tally));
        let (more, added) = tokio::join!(reader.points(filter, last), adding);
        tally = added.map_err(|error| No::fault(&error))?.map_err(|error| No::fault(&error))?;
        next = more.map_err(|error| No::fault(&error))?;
    }
    Ok(tally)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(asked: &[(&str, &str)]) -> Vec<CodeFilter> {
        let pairs = asked.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned()));
        sides(Parameters::of(pairs).unwrap()).unwrap()
    }

    #[test]
    fn a_second_side_takes_over_what_it_does_not_name() {
        let sides = of(&[("location", "Ward 1"), ("from", "2026-01-01"), ("than_location", "Ward 2")]);
        assert_eq!(sides.len(), 2);
        assert_eq!((sides[0].location.as_deref(), sides[1].location.as_deref()), (Some("Ward 1"), Some("Ward 2")));
        assert_eq!(sides[0].from, sides[1].from);
        assert_eq!((sides[0].training, sides[1].training), (Some(false), Some(false)));
        assert_eq!(of(&[("training", "true")]).len(), 1);
        assert!(sides[0].from.is_some() && sides.iter().all(|side| side.to.is_none()));
    }
}
