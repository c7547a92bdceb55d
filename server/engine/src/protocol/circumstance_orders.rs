//! What must hold between the effects of a special circumstance, whatever a department's reasons: two bands that
//! overlap, or a task that nothing can do, make no plan. This module must not know ranges.

use super::orders::Fault;
use super::{CareAmount, CareTask, CircumstanceRules, Deed, DrugPlan, Protocol, ReadingRule, TemperatureBand};
use crate::event::AgeGroup;

/// Everything that does not hold.
pub(super) fn faults(protocol: &Protocol) -> Vec<Fault> {
    let mut faults = Vec::new();
    for rules in &protocol.circumstances {
        let mut here: Vec<Fault> = rules.tasks.iter().filter_map(|task| task_fault(task, protocol)).collect();
        here.extend(bands(&rules.temperature_bands, protocol));
        here.extend(others(rules, protocol));
        let field = format!("circumstances.{}", rules.id.as_str());
        faults.extend(here.into_iter().map(|(below, problem)| (format!("{field}.{below}"), problem)));
    }
    faults
}

fn task_fault(task: &CareTask, protocol: &Protocol) -> Option<Fault> {
    let fault = |below: &str, problem: String| Some((format!("tasks.{}{below}", task.id), problem));
    let ask_s = task.ask_after_s.as_ref().map_or(0.0, |seconds| seconds.value);
    if ask_s > task.due_after_s.value {
        return fault(".due_after_s", format!("is less than {ask_s} in ask_after_s: due before it is asked for"));
    }
    if task.repeat_s.as_ref().is_some_and(|seconds| seconds.value < 1.0) {
        return fault(".repeat_s", "must be at least 1 s: it would be asked without end".to_owned());
    }
    if task.repeat_s.is_some() && task.done_by.is_empty() && task.drugs.is_empty() {
        return fault(".repeat_s", "needs done_by or drugs: a tick alone cannot be repeated".to_owned());
    }
    if matches!(task.amount, Some(CareAmount::VolumeMl(_))) && protocol.age_group != AgeGroup::Adult {
        return fault(
            ".amount",
            "is the same for every weight: a child's amount goes by weight, or stands in words".to_owned(),
        );
    }
    if task.tap.as_ref().is_some_and(|tap| !task.done_by.contains(tap)) {
        return fault(".tap", "records something that does not do the task: name it in done_by too".to_owned());
    }
    for deed in &task.done_by {
        if let Deed::CauseTreated(cause) = deed
            && let Some(problem) = unknown_cause(cause, protocol)
        {
            return fault(".done_by", problem);
        }
    }
    reading_fault(task.when.as_ref()?).and_then(|problem| fault(".when", problem))
}

fn unknown_cause(cause: &str, protocol: &Protocol) -> Option<String> {
    let list = &protocol.causes.list.value;
    (!list.iter().any(|known| known.id == cause)).then(|| {
        let known: Vec<&str> = list.iter().map(|known| known.id.as_str()).collect();
        format!("`{cause}` is no cause of this protocol: {}", known.join(", "))
    })
}

fn reading_fault(rule: &ReadingRule) -> Option<String> {
    match (&rule.at_least, &rule.below) {
        (None, None) => Some("needs at_least or below".to_owned()),
        (Some(low), Some(high)) if low.value >= high.value => {
            Some(format!("holds for no value: at least {} and below {}", low.value, high.value))
        }
        (Some(_), _) | (_, Some(_)) => None,
    }
}

/// Bands cover every temperature once: no gap in which nobody knows what holds, and no overlap.
fn bands(bands: &[TemperatureBand], protocol: &Protocol) -> Option<Fault> {
    let fault = |band: &TemperatureBand, problem: String| Some((format!("temperature_bands.{}", band.id), problem));
    for (place, band) in bands.iter().enumerate() {
        if let (Some(low), Some(high)) = (&band.from_c, &band.below_c)
            && low.value >= high.value
        {
            return fault(band, format!("holds for no temperature: from {} to below {}", low.value, high.value));
        }
        let from_c = band.from_c.as_ref().map(|low| low.value);
        let expected_c = match place.checked_sub(1).and_then(|before| bands.get(before)) {
            None => None,
            Some(before) => match &before.below_c {
                Some(high) => Some(high.value),
                None => return fault(band, format!("overlaps `{}`, which has no end (below_c)", before.id)),
            },
        };
        if from_c != expected_c {
            let wanted =
                expected_c.map_or("no from_c: the coldest must be in it".to_owned(), |c| format!("from_c = {c}"));
            return fault(band, format!("leaves a gap or overlaps: bands rise one from the other; here {wanted}"));
        }
        if band.max_shocks.as_ref().is_some_and(|max| max.value < protocol.epinephrine.after_shocks.value)
            && band.drugs.value != DrugPlan::Withheld
        {
            return fault(
                band,
                "has fewer shocks than epinephrine.after_shocks without withholding drugs: the first dose would never come"
                    .to_owned(),
            );
        }
    }
    let last = bands.last()?;
    last.below_c
        .as_ref()
        .and_then(|high| fault(last, format!("says nothing from {} on: the last band has no below_c", high.value)))
}

fn others(rules: &CircumstanceRules, protocol: &Protocol) -> Option<Fault> {
    for rule in &rules.suggested_by {
        if let Some(problem) = reading_fault(rule) {
            return Some(("suggested_by".to_owned(), problem));
        }
    }
    if rules.fixed_j.is_some() && protocol.age_group != AgeGroup::Adult {
        return Some(("fixed_j".to_owned(), "is an adult's energy: a child's goes by weight".to_owned()));
    }
    if let Some(go_on) = &rules.go_on {
        if go_on.from_s.value > go_on.to_s.value {
            return Some(("go_on.to_s".to_owned(), "ends before it begins".to_owned()));
        }
        if let Some(problem) = unknown_cause(&go_on.cause, protocol) {
            return Some(("go_on.cause".to_owned(), problem));
        }
    }
    let stranger =
        rules.conflicts.iter().find(|pair| protocol.circumstance(&pair.with).is_none() || pair.with == rules.id)?;
    Some(("conflicts".to_owned(), format!("`{}` is no other circumstance of this protocol", stranger.with.as_str())))
}
