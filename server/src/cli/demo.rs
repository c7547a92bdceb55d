//! `coxswain demo`: a server on throw-away data, a simulated team at its sockets, and room for a newcomer who takes a
//! role over. The team plays over the same wire as everybody; this module only starts both and prints what is done.

use std::io::Write;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

use clap::Args;
use coxswain_engine::event::{Event, Rhythm};
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot, watch};
use uuid::Uuid;

use super::serve::greeting;
use super::{Failure, Outcome, print};
use crate::ledger::Store;
use crate::server::{self, Ready};
use crate::team::{self, Deed, Played, SHIPPED, Scenario, Told};
use crate::web::{Entrance, Hosts, SAVED_WITHIN};

/// Arguments of `demo`.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// How many times faster than real time the code runs, from 1 to 60.
    #[arg(long, default_value_t = 1.0, value_parser = speed)]
    speed: f64,
    /// A scenario file, or the name of one inside the program.
    #[arg(long, default_value = SHIPPED[0].0)]
    scenario: String,
    /// Address and port to serve on.
    #[arg(long, default_value = "0.0.0.0:8080")]
    listen: SocketAddr,
    /// Keep the records in this folder; else they are thrown away at the end.
    #[arg(long)]
    data: Option<PathBuf>,
    /// End when the code is closed, instead of serving on.
    #[arg(long)]
    exit: bool,
    /// Serve without the simulated team: for people who practise among themselves at another speed.
    #[arg(long, conflicts_with_all = ["exit", "deeds"])]
    no_team: bool,
    /// Write what the simulated team did, by its own account, to this file as JSON Lines.
    #[arg(long)]
    deeds: Option<PathBuf>,
}

fn speed(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(speed) if (1.0..=60.0).contains(&speed) => Ok(speed),
        Ok(_) | Err(_) => Err("the speed must be a number from 1 to 60".to_owned()),
    }
}

pub(super) async fn run(arguments: Arguments) -> Outcome {
    let scenario = scenario(&arguments.scenario)?;
    let folder = Folder::new(arguments.data.as_deref())?;
    let store = Store::serve(&folder.path).await?;
    let clock = store.clock().await?.faster(arguments.speed);
    let listener = TcpListener::bind(arguments.listen).await;
    let listener =
        listener.map_err(|error| Failure::Failed(format!("{} cannot be served: {error}", arguments.listen)))?;
    let address = listener.local_addr().map_err(|error| Failure::Failed(error.to_string()))?;

    let (stop, stopping) = watch::channel(false);
    let (tell_ready, ready) = oneshot::channel::<Ready>();
    let mut until = stopping.clone();
    let serving = tokio::spawn(async move {
        let shutdown = async move {
            // An error means that whoever could say "stop" is gone, which is a reason to stop as well.
            let _ = until.wait_for(|stopped| *stopped).await;
        };
        let greet = |ready: &Ready| {
            let _ = tell_ready.send(ready.clone());
        };
        // Throw-away data, and a team at its sockets in this very process: without TLS.
        let entrance = Entrance { listener, hosts: Hosts::of_this_machine(&[]), tls: None, saved_within: SAVED_WITHIN };
        server::run(entrance, store, clock, greet, shutdown).await
    });
    let Ok(ready) = ready.await else { return served(serving.await) };
    print(&greeting(address, None, &ready))?;

    let outcome = tokio::select! {
        outcome = demonstrate(&arguments, &scenario, address, &ready, stopping) => outcome,
        _ = tokio::signal::ctrl_c() => Ok(()),
    };
    stop.send_replace(true);
    let served = served(serving.await);
    drop(folder);
    outcome.and(served)
}

/// Runs the team to the end of the code, and then waits for ever unless told to end.
async fn demonstrate(
    arguments: &Arguments,
    scenario: &Scenario,
    address: SocketAddr,
    ready: &Ready,
    stopping: watch::Receiver<bool>,
) -> Outcome {
    if arguments.no_team {
        print(&format!("No team: the code clock runs {} times as fast as a real one.\n", arguments.speed))?;
        return std::future::pending().await;
    }
    let nearby = if address.ip().is_unspecified() { IpAddr::V4(Ipv4Addr::LOCALHOST) } else { address.ip() };
    let address = SocketAddr::new(nearby, address.port());
    let seats = team::take_seats(address, &ready.join_code, &scenario.location).await.map_err(failed)?;
    let code = team::open(address, &seats, scenario).await.map_err(failed)?;
    print(&format!(
        "Demonstration: {}\nA simulated team of seven plays it at {} times real speed, at the location {}.\n\
         To take a role over: pair a device with the join code, then join the code and choose the role; the simulated player \
         steps back, and fills in again when you leave.\ncode {code}\n\n",
        scenario.title, arguments.speed, scenario.location
    ))?;
    let (tell, told) = mpsc::unbounded_channel();
    let printing = tokio::spawn(print_told(told));
    let played = team::play(address, &seats, code, scenario, Some(tell), stopping).await.map_err(failed)?;
    // All that could be told has been told when the last player is gone; a broken pipe ends the printing early.
    let _ = printing.await;
    if let Some(file) = &arguments.deeds {
        write_deeds(file, &played)?;
    }
    print(&ending(arguments, code, &played))?;
    if arguments.exit {
        return Ok(());
    }
    print("The server stays up, with the record of this code, until Ctrl-C.\n")?;
    std::future::pending().await
}

fn ending(arguments: &Arguments, code: Uuid, played: &Played) -> String {
    let refused = played.deeds.iter().filter(|deed| deed.refused.is_some()).count();
    let mut text = format!("\nThe code is closed: {} taps, {refused} of them refused.\n", played.deeds.len());
    if let Some(data) = &arguments.data {
        let data = data.display();
        text += &format!("Its figures: coxswain export {code} --format jsonl --data {data} | coxswain measure -\n");
    }
    text
}

async fn print_told(mut told: mpsc::UnboundedReceiver<Told>) {
    while let Some(told) = told.recv().await {
        let line = match told {
            Told::Deed(deed) => deed_line(&deed),
            Told::Monitor { at_ms, look } => {
                format!("{}  (the monitor shows {})\n", clock_text(at_ms), rhythm_words(look.rhythm))
            }
        };
        if line.is_empty() {
            continue;
        }
        if print(&line).is_err() {
            return;
        }
    }
}

fn deed_line(deed: &Deed) -> String {
    let slip = if deed.mistaken { " (tapped twice by mistake)" } else { "" };
    format!("{}  {:<13} {}{slip}\n", clock_text(deed.at_ms), deed.role.as_str(), words(&deed.event))
}

/// Minutes and seconds of code time.
fn clock_text(at_ms: i64) -> String {
    let seconds = at_ms.max(0) / 1_000;
    format!("{:>3}:{:02}", seconds / 60, seconds % 60)
}

fn rhythm_words(rhythm: Rhythm) -> &'static str {
    match rhythm {
        Rhythm::Vf => "ventricular fibrillation",
        Rhythm::PulselessVt => "ventricular tachycardia without a pulse",
        Rhythm::Pea => "an organised rhythm; no pulse is felt",
        Rhythm::Asystole => "asystole",
        Rhythm::Bradycardia => "a slow rhythm",
        Rhythm::Perfusing => "an organised rhythm; a pulse is felt",
        Rhythm::Unknown => "nothing that can be read",
    }
}

/// A deed in words: the event's own, and what matters most about it.
fn words(event: &Event) -> String {
    let kind = event.kind().replace('_', " ");
    match event {
        Event::Rosc {} => "return of circulation".to_owned(),
        Event::ShockDelivered { energy_j, .. } => format!("shock delivered, {energy_j} J"),
        Event::ChargingStarted { energy_j: Some(energy_j) } => format!("charging started, {energy_j} J"),
        Event::RhythmChecked { rhythm, .. } => format!("rhythm checked: {}", rhythm_words(*rhythm)),
        Event::DrugGiven { drug, dose: Some(dose), .. } => format!("{drug} given, {} {}", dose.value, dose.unit),
        Event::DrugGiven { drug, .. } => format!("{drug} given"),
        Event::DrugPrepared { drug, .. } => format!("{drug} drawn up"),
        Event::Etco2Read { mmhg } => format!("end-tidal CO2 {mmhg} mmHg"),
        Event::TaskDone { prompt } => {
            let action = prompt.split('@').next().unwrap_or(prompt).replace('_', " ");
            format!("{action}: done")
        }
        Event::RoleReleased { role, .. } => format!("steps back as {} for a person", role.as_str()),
        Event::RoleAssigned { role, .. } => format!("fills in as {}", role.as_str()),
        _ => kind,
    }
}

fn write_deeds(file: &Path, played: &Played) -> Outcome {
    let unwritten = |problem: String| Failure::Failed(format!("{} cannot be written: {problem}", file.display()));
    let mut text = Vec::new();
    for deed in &played.deeds {
        serde_json::to_writer(&mut text, deed).map_err(|error| unwritten(error.to_string()))?;
        text.push(b'\n');
    }
    let written = std::fs::File::create(file).and_then(|mut file| file.write_all(&text));
    written.map_err(|error| unwritten(error.to_string()))
}

fn scenario(named: &str) -> Result<Scenario, Failure> {
    let read = if SHIPPED.iter().any(|(name, _)| *name == named) {
        Scenario::shipped(named)
    } else {
        let text = std::fs::read_to_string(named).map_err(|error| {
            let names: Vec<_> = SHIPPED.iter().map(|(name, _)| *name).collect();
            Failure::Unreadable(format!("{named}: {error}; the scenarios inside the program are {}", names.join(", ")))
        })?;
        Scenario::from_toml(&text)
    };
    read.map_err(|error| Failure::Unreadable(format!("{named}: {error}")))
}

fn failed(error: impl std::fmt::Display) -> Failure {
    Failure::Failed(format!("the simulated team cannot play: {error}"))
}

fn served(outcome: Result<Result<(), server::ServerError>, tokio::task::JoinError>) -> Outcome {
    match outcome {
        Ok(served) => served.map_err(|error| Failure::Failed(error.to_string())),
        Err(error) => Err(Failure::Failed(format!("the server broke: {error}"))),
    }
}

/// Where the records are: a folder that was named and stays, or one of our own that goes.
struct Folder {
    path: PathBuf,
    throw_away: bool,
}

impl Folder {
    fn new(named: Option<&Path>) -> Result<Self, Failure> {
        if let Some(path) = named {
            return Ok(Self { path: path.to_owned(), throw_away: false });
        }
        let path = std::env::temp_dir().join(format!("coxswain-demo-{}", Uuid::now_v7()));
        let made = std::fs::create_dir(&path);
        made.map_err(|error| Failure::Failed(format!("{} cannot be made: {error}", path.display())))?;
        Ok(Self { path, throw_away: true })
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        if self.throw_away
            && let Err(error) = std::fs::remove_dir_all(&self.path)
        {
            tracing::warn!("{} cannot be removed: {error}", self.path.display());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_speed_has_limits_and_a_scenario_is_found_by_name_or_path() {
        assert_eq!(speed("10"), Ok(10.0));
        assert!(speed("0").is_err() && speed("61").is_err() && speed("fast").is_err());
        assert!(scenario("not-shockable").is_ok());
        let error = scenario("/no/such/scenario.toml").unwrap_err().to_string();
        assert!(error.contains("shockable-rosc"), "{error}");
        assert_eq!(clock_text(125_900), "  2:05");
    }
}
