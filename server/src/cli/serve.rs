//! `coxswain serve`: binds, greets the person at the console, serves until told to stop.

use std::fmt::Write;
use std::net::{IpAddr, SocketAddr};
use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;
use qrcode::QrCode;
use qrcode::render::unicode;
use tokio::net::TcpListener;
use tokio::signal::unix::{SignalKind, signal};

use super::{Failure, Outcome, data_folder};
use crate::ledger::Store;
use crate::machine;
use crate::server::{self, Ready};
use crate::tls::{self, Tls};
use crate::web::{self, Entrance, Hosts, Reach, SAVED_WITHIN};

/// Arguments of `serve`.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// The folder with everything the server keeps.
    #[arg(long, default_value_os_t = data_folder())]
    data: PathBuf,
    /// Address and port to serve on.
    #[arg(long, default_value = "0.0.0.0:8080")]
    listen: SocketAddr,
    /// Encryption: `local` (an authority of the department's own, kept in the data folder), CERT.pem,KEY.pem, or `off`.
    /// Without it `local`, and `off` on loopback.
    #[arg(long)]
    tls: Option<tls::Choice>,
    /// A name, beside this machine's own and its addresses, under which tablets reach the server; may be repeated.
    #[arg(long = "name", value_name = "NAME")]
    names: Vec<String>,
}

pub(super) async fn run(arguments: Arguments) -> Outcome {
    let store = Store::serve(&arguments.data).await?;
    let clock = store.clock().await?;
    let hosts = Hosts::of_this_machine(&arguments.names);
    let choice = arguments.tls.unwrap_or_else(|| tls::Choice::usual(arguments.listen));
    let tls = Tls::new(&choice, &arguments.data, hosts.names());
    let tls = tls.map_err(|error| Failure::Unreadable(format!("--tls: {error}")))?;
    let listener = TcpListener::bind(arguments.listen).await;
    let listener =
        listener.map_err(|error| Failure::Failed(format!("{} cannot be served: {error}", arguments.listen)))?;
    let address = listener.local_addr().map_err(|error| Failure::Failed(error.to_string()))?;
    let mut terminate = signal(SignalKind::terminate()).map_err(|error| Failure::Failed(error.to_string()))?;
    let shutdown = async move {
        tokio::select! {
            _ = tokio::signal::ctrl_c() => {}
            _ = terminate.recv() => {}
        }
    };
    let mut asked = signal(SignalKind::user_defined1()).map_err(|error| Failure::Failed(error.to_string()))?;
    let spoken = tls.clone();
    let greet = |ready: &Ready| {
        let _ = super::print(&greeting(address, spoken.as_ref(), ready));
        let join_codes = Arc::clone(&ready.join_codes);
        tokio::spawn(async move {
            while asked.recv().await.is_some() {
                let _ = super::print(&format!("Join code: {}\n", join_codes.current().0));
            }
        });
    };
    let served =
        server::run(Entrance { listener, hosts, tls, saved_within: SAVED_WITHIN }, store, clock, greet, shutdown).await;
    served.map_err(|error| Failure::Failed(error.to_string()))
}

/// The addresses under which tablets reach the server.
fn reachable(address: SocketAddr) -> Vec<SocketAddr> {
    if !address.ip().is_unspecified() {
        return vec![address];
    }
    let mut found: Vec<SocketAddr> = machine::addresses()
        .into_iter()
        .filter(|ip| matches!(ip, IpAddr::V4(_)) && !ip.is_loopback())
        .map(|ip| SocketAddr::new(ip, address.port()))
        .collect();
    if found.is_empty() {
        found.push(SocketAddr::new([127, 0, 0, 1].into(), address.port()));
    }
    found
}

pub(super) fn greeting(address: SocketAddr, tls: Option<&Tls>, ready: &Ready) -> String {
    let reach = Reach::by(tls);
    let mut text = String::new();
    let addresses = reachable(address);
    for address in &addresses {
        let _ = writeln!(text, "Coxswain serves on {}", reach.screens(&address.to_string()));
        if tls.and_then(Tls::authority).is_some_and(|authority| !authority.may_vouch_for_address(address.ip())) {
            let _ = writeln!(
                text,
                "  Tablets cannot trust this address: it is new since the authority was made. Use a name, or move tls/ of the \
                 data folder away for a new authority, which every tablet has to trust anew."
            );
        }
    }
    let _ = writeln!(
        text,
        "Join code: {} (taken for 20 minutes; a paired tablet shows the next one, and so does kill -USR1 {})",
        ready.join_code,
        std::process::id()
    );
    if let Some(first) = addresses.first() {
        let url = reach.pairing(&first.to_string(), &ready.join_code);
        if let Ok(picture) = QrCode::new(url.as_bytes()) {
            let picture = picture.render::<unicode::Dense1x2>().quiet_zone(true).build();
            let _ = writeln!(text, "{picture}\nScan it with a tablet, or open {url}");
        }
    }
    if ready.running > 0 {
        let _ = writeln!(text, "{} running code(s) taken up again.", ready.running);
    }
    for file in &ready.unusable {
        let _ = writeln!(text, "This protocol cannot be used: {file}");
    }
    if !web::has_screens() {
        let _ = writeln!(text, "This build has no screens: run make to build them in.");
    }
    if !reach.is_secure() {
        let _ = writeln!(
            text,
            "Without TLS whoever is on this network can read along, and tablets lack what browsers give to safe pages \
             only: keeping the screen awake, and starting without the network."
        );
    }
    if let Some(authority) = tls.and_then(Tls::authority) {
        let _ = writeln!(
            text,
            "Each tablet trusts this department's own certificate once; the page says how. Its SHA-256 fingerprint:\n{}",
            authority.fingerprint()
        );
        if let Some(days) = authority.ends_in_days() {
            let _ = writeln!(text, "It ends in {days} days: plan for a new one, which every tablet has to trust anew.");
        }
    }
    let _ = writeln!(text, "Prompts follow the protocol this department approved; the team leader decides.");
    text
}
