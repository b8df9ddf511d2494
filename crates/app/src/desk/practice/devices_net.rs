//! The listener for devices on the same network: TLS 1.3 under a certificate that is made when it is turned on and never leaves memory.

use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use rustls::ServerConfig;
use rustls::crypto::ring::default_provider;
use rustls::pki_types::PrivateKeyDer;
use sha2::{Digest, Sha256};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::task::{AbortHandle, JoinSet};
use tokio_rustls::TlsAcceptor;

use super::super::{Desk, reply};

/// Connections at once; more wait.
const MOST: usize = 32;
/// How long a handshake or the head of a request may take.
const PATIENCE: Duration = Duration::from_secs(10);

/// On which address of the network a request came in.
#[derive(Clone, Copy, Debug)]
pub struct Over(pub SocketAddr);

/// A listener that has begun.
pub struct Begun {
    /// Its address.
    pub address: SocketAddr,
    /// The SHA-256 of its certificate, in pairs of hexadecimal digits, as browsers show it.
    pub fingerprint: String,
    /// Ends it with every connection.
    pub listens: AbortHandle,
}

/// Begins to listen on an address of this machine.
///
/// # Errors
/// The address is none of this machine's; there is no randomness for a key.
pub async fn listen(desk: Arc<Desk>, ip: IpAddr) -> io::Result<Begun> {
    let listener = TcpListener::bind(SocketAddr::new(ip, 0)).await?;
    let address = listener.local_addr()?;
    let (config, fingerprint) = certified(ip)?;
    let acceptor = TlsAcceptor::from(Arc::new(config));
    let router = reply::router(desk);
    let listens = tokio::spawn(serve(listener, acceptor, router, address)).abort_handle();
    Ok(Begun { address, fingerprint, listens })
}

/// A key and a certificate of its own for an address, and the certificate's fingerprint.
fn certified(ip: IpAddr) -> io::Result<(ServerConfig, String)> {
    let made = rcgen::generate_simple_self_signed(vec![ip.to_string()]).map_err(io::Error::other)?;
    let certificate = made.cert.der().clone();
    let pairs: Vec<String> = Sha256::digest(&certificate).iter().map(|b| format!("{b:02X}")).collect();
    let key = PrivateKeyDer::Pkcs8(made.signing_key.serialize_der().into());
    let config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
        .with_safe_default_protocol_versions()
        .and_then(|b| b.with_no_client_auth().with_single_cert(vec![certificate], key))
        .map_err(io::Error::other)?;
    Ok((config, pairs.join(" ")))
}

/// Takes connections until it is aborted; then they all end with it.
async fn serve(listener: TcpListener, acceptor: TlsAcceptor, router: Router, address: SocketAddr) {
    let room = Arc::new(Semaphore::new(MOST));
    let mut connections = JoinSet::new();
    loop {
        let Ok(place) = room.clone().acquire_owned().await else { return };
        while connections.try_join_next().is_some() {}
        let Ok((stream, _)) = listener.accept().await else {
            // Out of handles for a moment, or a connection that ended before it began.
            tokio::time::sleep(Duration::from_millis(100)).await;
            continue;
        };
        let (acceptor, router) = (acceptor.clone(), router.clone());
        connections.spawn(async move {
            answer(stream, acceptor, router, address).await;
            drop(place);
        });
    }
}

async fn answer(stream: TcpStream, acceptor: TlsAcceptor, router: Router, address: SocketAddr) {
    let Ok(Ok(tls)) = tokio::time::timeout(PATIENCE, acceptor.accept(stream)).await else { return };
    let router = router.layer(axum::Extension(Over(address)));
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(PATIENCE)
        .serve_connection(TokioIo::new(tls), TowerToHyperService::new(router));
    // A browser that goes away in the middle is no matter.
    let _ = connection.await;
}
