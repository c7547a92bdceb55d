//! One port for both: a connection whose first byte begins a TLS handshake is taken as TLS, any other as plain HTTP. Who
//! types an address without `https` then gets a page that helps, instead of nothing.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use axum::serve::Listener;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, mpsc};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

/// Content type 22, a handshake (RFC 8446, 5.1): no request of HTTP begins with it.
const HANDSHAKE: u8 = 0x16;
/// Whoever says nothing for this long, or does not finish the handshake, is let go.
const PATIENCE: Duration = Duration::from_secs(10);
/// Connections that may be before or in their handshake at once.
const AT_ONCE: usize = 256;

/// Connections of one kind, as they come.
#[derive(Debug)]
pub(crate) struct Arrivals<Io> {
    address: SocketAddr,
    queue: mpsc::Receiver<(Io, SocketAddr)>,
}

impl<Io: AsyncRead + AsyncWrite + Unpin + Send + 'static> Listener for Arrivals<Io> {
    type Io = Io;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Io, SocketAddr) {
        match self.queue.recv().await {
            Some(arrived) => arrived,
            // Nothing sorts any more: nothing will come.
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        Ok(self.address)
    }
}

/// Takes connections from a listener and sorts them, until both kinds are wanted no more.
///
/// # Errors
/// If the listener has no address.
pub(crate) fn sort(
    mut listener: TcpListener,
    acceptor: TlsAcceptor,
) -> io::Result<(Arrivals<TlsStream<TcpStream>>, Arrivals<TcpStream>)> {
    let address = TcpListener::local_addr(&listener)?;
    let (give_secure, secure) = mpsc::channel(1);
    let (give_plain, plain) = mpsc::channel(1);
    tokio::spawn(async move {
        let places = Arc::new(Semaphore::new(AT_ONCE));
        loop {
            let arrived = async {
                // A place first: who floods the port waits in the system's own queue.
                let place = Arc::clone(&places).acquire_owned().await;
                (place, Listener::accept(&mut listener).await)
            };
            let (place, (stream, peer)) = tokio::select! {
                arrived = arrived => arrived,
                () = async { tokio::join!(give_secure.closed(), give_plain.closed()); } => return,
            };
            let (acceptor, give_secure, give_plain) = (acceptor.clone(), give_secure.clone(), give_plain.clone());
            tokio::spawn(async move {
                // A record is a small message that somebody waits for: it must not wait for another to travel with.
                let _ = stream.set_nodelay(true);
                match tokio::time::timeout(PATIENCE, begin(stream, &acceptor)).await {
                    Ok(Ok(Begun::Secure(stream))) => drop(give_secure.send((*stream, peer)).await),
                    Ok(Ok(Begun::Plain(stream))) => drop(give_plain.send((stream, peer)).await),
                    Ok(Err(error)) => tracing::debug!(%peer, %error, "a handshake failed"),
                    Err(_) => tracing::debug!(%peer, "nothing came, or no whole handshake"),
                }
                drop(place);
            });
        }
    });
    Ok((Arrivals { address, queue: secure }, Arrivals { address, queue: plain }))
}

/// A connection whose kind is known.
enum Begun {
    Secure(Box<TlsStream<TcpStream>>),
    Plain(TcpStream),
}

async fn begin(stream: TcpStream, acceptor: &TlsAcceptor) -> io::Result<Begun> {
    let mut first = [0];
    if stream.peek(&mut first).await? == 0 {
        return Err(io::ErrorKind::UnexpectedEof.into());
    }
    if first[0] == HANDSHAKE {
        acceptor.accept(stream).await.map(|stream| Begun::Secure(Box::new(stream)))
    } else {
        Ok(Begun::Plain(stream))
    }
}
