//! The address that a connection comes from: for the access log, and to slow whoever tries passwords.

use std::convert::Infallible;
use std::net::{IpAddr, SocketAddr};

use axum::extract::FromRequestParts;
use axum::extract::connect_info::{ConnectInfo, Connected};
use axum::http::request::Parts;
use axum::serve::IncomingStream;
use tokio::net::TcpStream;
use tokio_rustls::server::TlsStream;

use crate::tls::Arrivals;

/// Where a connection by TLS comes from. A plain one has its address from axum itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Peer(SocketAddr);

impl Connected<IncomingStream<'_, Arrivals<TlsStream<TcpStream>>>> for Peer {
    fn connect_info(stream: IncomingStream<'_, Arrivals<TlsStream<TcpStream>>>) -> Self {
        Self(*stream.remote_addr())
    }
}

/// The address that asks, if it is known.
pub(super) struct From(pub(super) Option<IpAddr>);

impl<S: Sync> FromRequestParts<S> for From {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _state: &S) -> Result<Self, Infallible> {
        let secure = parts.extensions.get::<ConnectInfo<Peer>>().map(|ConnectInfo(Peer(address))| *address);
        let plain = parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|ConnectInfo(address)| *address);
        Ok(Self(secure.or(plain).map(|address| address.ip())))
    }
}
