//! Reads compression times from a plain CSV, as any monitor's software can export one: a column `start` and a column `stop`,
//! in seconds from recognition or as clock times. A file with a fault is not taken in part: the fault is named by row and
//! column, as a spreadsheet counts them.

use coxswain_engine::check::{FARTHEST_MS, MAX_ENTRIES};
use coxswain_engine::event::CompressionStretch;

/// A day.
const DAY_MS: i64 = 86_400_000;

/// What is wrong with a file, with row and column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken(pub String);

fn broken<T>(row: usize, column: &str, problem: impl std::fmt::Display) -> Result<T, Broken> {
    Err(Broken(format!("row {row}, column {column}: {problem}")))
}

/// How a file writes its times; one way in all of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Seconds,
    Clock,
}

/// Reads a file. `offset_ms` is added to every time; a file with clock times needs `zero_clock`, what the monitor's clock
/// showed at recognition.
///
/// # Errors
/// Names row and column of the first fault.
pub fn read(text: &str, offset_ms: i64, zero_clock: Option<&str>) -> Result<Vec<CompressionStretch>, Broken> {
    let zero_ms = match zero_clock {
        None => None,
        Some(text) => match clock(text.trim()) {
            Some(ms) => Some(ms),
            None => return Err(Broken("zero_clock: must be a clock time such as 09:12:03".to_owned())),
        },
    };
    let mut lines = text.strip_prefix('\u{feff}').unwrap_or(text).lines().enumerate();
    let Some((_, header)) = lines.next().filter(|(_, line)| !line.trim().is_empty()) else {
        return Err(Broken("row 1: the file is empty; its first row names the columns start and stop".to_owned()));
    };
    let separator = if header.contains(';') { ';' } else { ',' };
    let names: Vec<String> = cells(header, separator).into_iter().map(|name| name.to_lowercase()).collect();
    let place_of = |wanted: &str| match names.iter().filter(|name| *name == wanted).count() {
        1 => names.iter().position(|name| name == wanted).map_or_else(|| broken(1, wanted, "is missing"), Ok),
        0 => broken(1, wanted, format!("is missing; the columns there are {}", names.join(", "))),
        _ => broken(1, wanted, "stands there twice"),
    };
    let (start_at, stop_at) = (place_of("start")?, place_of("stop")?);
    let mut form = None;
    let mut found: Vec<CompressionStretch> = Vec::new();
    for (index, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
        let row = index + 1;
        let cells = cells(line, separator);
        let mut time = |place: usize, column: &str| -> Result<i64, Broken> {
            let Some(cell) = cells.get(place).filter(|cell| !cell.is_empty()) else {
                return broken(row, column, "is empty");
            };
            let (written, ms) = match (clock(cell), seconds(cell, separator)) {
                (Some(ms), _) => (Form::Clock, ms),
                (None, Some(ms)) => (Form::Seconds, ms),
                (None, None) => {
                    return broken(
                        row,
                        column,
                        format!("`{}` is neither seconds nor a clock time such as 09:14:28", cut(cell)),
                    );
                }
            };
            if *form.get_or_insert(written) != written {
                return broken(row, column, "is written in another way than the times above it");
            }
            let ms = match (written, zero_ms) {
                (Form::Seconds, _) => ms,
                (Form::Clock, Some(zero_ms)) => past_midnight(ms - zero_ms),
                (Form::Clock, None) => {
                    let problem = "is a clock time; say what the monitor's clock showed at recognition (zero_clock)";
                    return broken(row, column, problem);
                }
            };
            let ms = ms.saturating_add(offset_ms);
            if ms.abs() > FARTHEST_MS { broken(row, column, "is more than a year from the arrest") } else { Ok(ms) }
        };
        let stretch = CompressionStretch { start_ms: time(start_at, "start")?, stop_ms: time(stop_at, "stop")? };
        if stretch.stop_ms <= stretch.start_ms {
            return broken(row, "stop", "is not after the start");
        }
        if found.last().is_some_and(|before| stretch.start_ms <= before.stop_ms) {
            return broken(
                row,
                "start",
                "is not after the stop of the row above: rows stand in order of time and do not touch",
            );
        }
        found.push(stretch);
        if found.len() > MAX_ENTRIES {
            return broken(row, "start", format!("there are more than {MAX_ENTRIES} rows"));
        }
    }
    if found.is_empty() {
        return Err(Broken("row 2: there is no row below the names of the columns".to_owned()));
    }
    Ok(found)
}

/// The cells of a row, without white space and quotation marks around them. Times hold no separator, so that no more of the
/// format (RFC 4180) is needed.
fn cells(line: &str, separator: char) -> Vec<String> {
    line.split(separator).map(|cell| cell.trim().trim_matches('"').trim().to_owned()).collect()
}

/// A part of a cell that fits in a sentence.
fn cut(cell: &str) -> String {
    cell.chars().take(40).collect()
}

/// `63.5`, and `63,5` where the cells are not separated by commas. To the millisecond.
#[expect(clippy::cast_possible_truncation, reason = "held to a year before the cast")]
fn seconds(cell: &str, separator: char) -> Option<i64> {
    let text = if separator == ';' { cell.replace(',', ".") } else { cell.to_owned() };
    if !text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+')) {
        return None;
    }
    let value: f64 = text.parse().ok()?;
    (value.abs() < 1e9).then(|| (value * 1_000.0).round() as i64)
}

/// `09:14:28` or `9:14:28.250`, in milliseconds since midnight.
fn clock(cell: &str) -> Option<i64> {
    let parts: Vec<&str> = cell.split(':').collect();
    let [hours, minutes, rest] = parts.as_slice() else { return None };
    let (whole, part) = rest.split_once(['.', ',']).unwrap_or((rest, "0"));
    let digits = |text: &str, least: usize, most: usize| {
        let fits = (least..=most).contains(&text.len()) && text.bytes().all(|byte| byte.is_ascii_digit());
        fits.then(|| text.parse::<i64>().ok()).flatten()
    };
    let (hours, minutes, whole) = (digits(hours, 1, 2)?, digits(minutes, 2, 2)?, digits(whole, 2, 2)?);
    let part = digits(&format!("{part:0<3}").chars().take(3).collect::<String>(), 3, 3)?;
    (hours < 24 && minutes < 60 && whole < 60).then_some(((hours * 60 + minutes) * 60 + whole) * 1_000 + part)
}

/// A difference of two clock times: a code that goes on past midnight is no code of a day ago.
fn past_midnight(difference_ms: i64) -> i64 {
    if difference_ms < -DAY_MS / 2 {
        difference_ms + DAY_MS
    } else if difference_ms > DAY_MS / 2 {
        difference_ms - DAY_MS
    } else {
        difference_ms
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn times(text: &str, offset_ms: i64, zero: Option<&str>) -> Result<Vec<(i64, i64)>, String> {
        let found = read(text, offset_ms, zero).map_err(|broken| broken.0)?;
        Ok(found.iter().map(|stretch| (stretch.start_ms, stretch.stop_ms)).collect())
    }

    #[test]
    fn seconds_and_clock_times_become_code_time() {
        assert_eq!(times("start,stop\n5,120.5\n130,250\n", 0, None).unwrap(), [(5_000, 120_500), (130_000, 250_000)]);
        // The monitor's clock was 90 s ahead: its times are moved back by as much.
        assert_eq!(times("start,stop\n95,100\n", -90_000, None).unwrap(), [(5_000, 10_000)]);
        // Another order of columns, other columns between, quotes, a byte order mark, CRLF, commas as decimals.
        let other = "\u{feff}No;Stop;Rate;Start\r\n1;\"20,25\";110;\"5,5\"\r\n";
        assert_eq!(times(other, 0, None).unwrap(), [(5_500, 20_250)]);
        let clock = "start,stop\n23:59:50,0:00:10.250\n0:00:20,0:01:00\n";
        assert_eq!(times(clock, 0, Some("23:59:40")).unwrap(), [(10_000, 30_250), (40_000, 80_000)]);
    }

    #[test]
    fn a_fault_is_named_by_row_and_column_and_nothing_is_taken() {
        let cases = [
            ("", None, "row 1: the file is empty"),
            ("begin,stop\n1,2", None, "row 1, column start: is missing; the columns there are begin, stop"),
            ("start,stop,start\n1,2,3", None, "row 1, column start: stands there twice"),
            ("start,stop\n", None, "row 2: there is no row"),
            ("start,stop\n1,2\n3,x", None, "row 3, column stop: `x` is neither"),
            ("start,stop\n1,2\n\n3", None, "row 4, column stop: is empty"),
            ("start,stop\n1,NaN", None, "row 2, column stop: `NaN` is neither"),
            ("start,stop\n5,5", None, "row 2, column stop: is not after the start"),
            ("start,stop\n1,5\n5,6", None, "row 3, column start: is not after the stop of the row above"),
            ("start,stop\n1,2\n09:00:00,09:00:01", Some("09:00:00"), "row 3, column start: is written in another way"),
            ("start,stop\n09:00:00,09:00:01", None, "row 2, column start: is a clock time; say what"),
            ("start,stop\n25:00:00,25:00:01", Some("09:00:00"), "row 2, column start: `25:00:00` is neither"),
            ("start,stop\n1,99999999999", None, "row 2, column stop: `99999999999` is neither"),
            ("start,stop\n1,99999999", None, "row 2, column stop: is more than a year"),
            ("start,stop\n1,2", Some("noon"), "zero_clock: must be"),
        ];
        for (text, zero, words) in cases {
            let problem = times(text, 0, zero).unwrap_err();
            assert!(problem.starts_with(words), "{text:?}: {problem}");
        }
        let many: String = (0..=MAX_ENTRIES).map(|row| format!("{},{}\n", row * 2, row * 2 + 1)).collect();
        assert!(times(&format!("start,stop\n{many}"), 0, None).unwrap_err().contains("more than 2000 rows"));
    }
}
