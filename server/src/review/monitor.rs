//! Reads compression times from a plain CSV, as any monitor's software can export one: a column `start` and a column `stop`,
//! in seconds from recognition or as clock times. A file with a fault is not taken in part: the fault is named by row and
//! column, as a spreadsheet counts them. Cells are read as RFC 4180 has them, but none goes on over the end of a line: a
//! quotation mark that nobody closed would swallow the rows below it without a word.

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
    // Lines end as any system ends them.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n").replace('\r', "\n");
    let mut rows = (1..).zip(text.split('\n')).filter(|(_, line)| !line.trim().is_empty());
    let Some((header_row, header)) = rows.next() else {
        return Err(Broken("row 1: the file is empty; its first row names the columns start and stop".to_owned()));
    };
    let (separator, names) = columns(header_row, header)?;
    let place_of = |wanted: &str| match names.iter().filter(|name| *name == wanted).count() {
        1 => names.iter().position(|name| name == wanted).map_or_else(|| broken(header_row, wanted, "is missing"), Ok),
        0 => broken(header_row, wanted, format!("is missing; the columns there are {}", names.join(", "))),
        _ => broken(header_row, wanted, "stands there twice"),
    };
    let (start_at, stop_at) = (place_of("start")?, place_of("stop")?);
    let mut form = None;
    let mut found: Vec<CompressionStretch> = Vec::new();
    for (row, line) in rows {
        let cells = cells(row, line, separator)?;
        if cells.len() > names.len() {
            // `5,5,9,5` would read as 5 to 5, or 5 to 9.
            let problem = format!(
                "there are more cells than the {} columns of the header; decimals written with a comma need semicolons \
                 between the cells",
                names.len()
            );
            return broken(row, &(names.len() + 1).to_string(), problem);
        }
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
        return Err(Broken(format!("row {}: there is no row below the names of the columns", header_row + 1)));
    }
    Ok(found)
}

/// What may stand between cells.
const SEPARATORS: [u8; 3] = [b';', b',', b'\t'];

/// What separates the cells of a file, and the names of its columns: the separator by which `start` and `stop` are there. If
/// there is none, the one by which most columns are.
fn columns(row: usize, header: &str) -> Result<(u8, Vec<String>), Broken> {
    let mut most: (u8, Vec<String>) = (b',', Vec::new());
    for separator in SEPARATORS {
        let names: Vec<String> = cells(row, header, separator)?.iter().map(|name| name.to_lowercase()).collect();
        if ["start", "stop"].iter().all(|wanted| names.iter().any(|name| name == wanted)) {
            return Ok((separator, names));
        }
        if names.len() > most.1.len() {
            most = (separator, names);
        }
    }
    Ok(most)
}

/// The cells of a row (RFC 4180), without white space around them.
fn cells(row: usize, line: &str, separator: u8) -> Result<Vec<String>, Broken> {
    let not = |problem: &str| Err(Broken(format!("row {row}: {problem}")));
    if line.matches('"').count() % 2 == 1 {
        return not("a quotation mark is not closed in this row");
    }
    let mut reader = csv::ReaderBuilder::new().has_headers(false).delimiter(separator).from_reader(line.as_bytes());
    match reader.records().next() {
        Some(Ok(cells)) => Ok(cells.iter().map(|cell| cell.trim().to_owned()).collect()),
        Some(Err(error)) => not(&error.to_string()),
        None => Ok(Vec::new()),
    }
}

/// A part of a cell that fits in a sentence.
fn cut(cell: &str) -> String {
    cell.chars().take(40).collect()
}

/// `63.5`, and `63,5` where the cells are not separated by commas. To the millisecond.
#[expect(clippy::cast_possible_truncation, reason = "held to a year before the cast")]
fn seconds(cell: &str, separator: u8) -> Option<i64> {
    let text = if separator == b',' { cell.to_owned() } else { cell.replace(',', ".") };
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
        // Blank lines anywhere, tabs between cells, line ends of a carriage return alone, a comma within a quoted cell.
        assert_eq!(times("\n  \nstart,stop\n\n5,6\n\n", 0, None).unwrap(), [(5_000, 6_000)]);
        assert_eq!(times("start\tstop\tnote\n5,5\t9,5\ta;b,c\n", 0, None).unwrap(), [(5_500, 9_500)]);
        assert_eq!(times("start,stop\r5,6\r7,8\r", 0, None).unwrap(), [(5_000, 6_000), (7_000, 8_000)]);
        let quoted = "\"by, and; \"\"why\"\"\",start,stop\n\"Mary, Bay 7\",5,9.5\n";
        assert_eq!(times(quoted, 0, None).unwrap(), [(5_000, 9_500)]);
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
            (
                "start,stop\n1,2\n5,5,9,5",
                None,
                "row 3, column 3: there are more cells than the 2 columns of the header",
            ),
            ("start,stop\n5,5,9", None, "row 2, column 3: there are more cells"),
            ("start,stop\n5,9,", None, "row 2, column 3: there are more cells"),
            ("start,stop\n\"5,5\",\"9,5\"", None, "row 2, column start: `5,5` is neither"),
            ("\n\nstart,stop\n\n5,x", None, "row 5, column stop: `x` is neither"),
            ("\nbegin,stop\n1,2", None, "row 2, column start: is missing; the columns there are begin, stop"),
            ("\nstart,stop\n", None, "row 3: there is no row"),
            ("start,stop,note\n1,2,\"late\n3,4,\"", None, "row 2: a quotation mark is not closed"),
            ("start stop\n1 2", None, "row 1, column start: is missing; the columns there are start stop"),
        ];
        for (text, zero, words) in cases {
            let problem = times(text, 0, zero).unwrap_err();
            assert!(problem.starts_with(words), "{text:?}: {problem}");
        }
        let many: String = (0..=MAX_ENTRIES).map(|row| format!("{},{}\n", row * 2, row * 2 + 1)).collect();
        assert!(times(&format!("start,stop\n{many}"), 0, None).unwrap_err().contains("more than 2000 rows"));
    }
}
