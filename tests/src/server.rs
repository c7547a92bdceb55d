//! A server as a process on a port of its own, which can be killed and started again over the same data.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::time::timeout;

use crate::{Error, binary};

/// How long a server may take to say where it listens.
const START_WITHIN: Duration = Duration::from_secs(20);

/// A running server.
#[derive(Debug)]
pub struct Server {
    child: Child,
    /// Where it listens.
    pub address: SocketAddr,
    /// The code that pairs devices.
    pub join_code: String,
    data: PathBuf,
    said: Arc<Mutex<Vec<String>>>,
}

impl Server {
    /// Starts a server over a data folder, on a free port.
    ///
    /// # Errors
    /// If it does not say where it listens in time; what it did say is in the error.
    pub async fn start(data: &Path) -> Result<Self, Error> {
        Self::start_at(data, "127.0.0.1:0").await
    }

    /// Starts a server at an address, such as one that it had before.
    ///
    /// # Errors
    /// As [`Self::start`].
    pub async fn start_at(data: &Path, listen: &str) -> Result<Self, Error> {
        Self::spawn(&["serve", "--listen", listen, "--data"], data).await
    }

    async fn spawn(args: &[&str], data: &Path) -> Result<Self, Error> {
        let mut child = Command::new(binary::path())
            .args(args)
            .arg(data)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .kill_on_drop(true)
            .spawn()?;
        let said = Arc::new(Mutex::new(Vec::new()));
        if let Some(errors) = child.stderr.take() {
            keep(errors, Arc::clone(&said), None);
        }
        let (sender, mut lines) = tokio::sync::mpsc::unbounded_channel();
        if let Some(output) = child.stdout.take() {
            keep(output, Arc::clone(&said), Some(sender));
        }
        let mut address = None;
        let mut join_code = None;
        let waited = timeout(START_WITHIN, async {
            while let Some(line) = lines.recv().await {
                address = address.take().or_else(|| listening_address(&line));
                join_code = join_code.take().or_else(|| announced_join_code(&line));
                if address.is_some() && join_code.is_some() {
                    return;
                }
            }
        });
        let in_time = waited.await.is_ok();
        match (address, join_code) {
            (Some(address), Some(join_code)) => Ok(Self { child, address, join_code, data: data.to_owned(), said }),
            _ => {
                let said = said.lock().unwrap_or_else(PoisonError::into_inner).join("\n");
                Err(format!("the server does not say where it listens (in time: {in_time}); it said:\n{said}").into())
            }
        }
    }

    /// Everything the server has printed.
    pub fn said(&self) -> String {
        self.said.lock().unwrap_or_else(PoisonError::into_inner).join("\n")
    }

    /// Kills it without a warning, as a power cut does, and starts it again at the same address over the same data.
    ///
    /// # Errors
    /// As [`Self::start`].
    pub async fn kill_and_restart(mut self) -> Result<Self, Error> {
        self.child.start_kill()?;
        self.child.wait().await?;
        Self::start_at(&self.data, &self.address.to_string()).await
    }

    /// Asks it to end, as a service manager does, and waits until it has.
    ///
    /// # Errors
    /// If it cannot be asked, or ends with a failure.
    pub async fn stop(mut self) -> Result<(), Error> {
        let pid = self.child.id().ok_or("the server is gone")?;
        Command::new("kill").args(["-TERM", &pid.to_string()]).status().await?;
        let status = timeout(START_WITHIN, self.child.wait()).await??;
        if status.success() { Ok(()) } else { Err(format!("the server ended with {status}").into()) }
    }

    /// Kills it without a warning.
    ///
    /// # Errors
    /// If there is nothing to kill.
    pub async fn kill(mut self) -> Result<(), Error> {
        self.child.start_kill()?;
        self.child.wait().await?;
        Ok(())
    }
}

fn keep<R>(from: R, said: Arc<Mutex<Vec<String>>>, lines: Option<tokio::sync::mpsc::UnboundedSender<String>>)
where
    R: tokio::io::AsyncRead + Unpin + Send + 'static,
{
    tokio::spawn(async move {
        let mut read = BufReader::new(from).lines();
        while let Ok(Some(line)) = read.next_line().await {
            said.lock().unwrap_or_else(PoisonError::into_inner).push(line.clone());
            if let Some(lines) = &lines {
                // Once the server is up nobody waits for its lines; they are kept all the same.
                drop(lines.send(line));
            }
        }
    });
}

fn listening_address(line: &str) -> Option<SocketAddr> {
    let (_, rest) = line.split_once("serves on")?;
    let (_, rest) = rest.split_once("://")?;
    rest.split(|c: char| c.is_whitespace() || c == '/').next()?.parse().ok()
}

fn announced_join_code(line: &str) -> Option<String> {
    let at = line.to_ascii_lowercase().find("join code:")?;
    line[at + "join code:".len()..].split_whitespace().next().map(str::to_owned)
}
