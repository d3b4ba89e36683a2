//! Listening, connections, and the end of them.

use std::convert::Infallible;
use std::future::Future;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper_util::rt::{TokioIo, TokioTimer};
use mirecast::in_system_words;
use tokio::net::TcpStream;
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::{sleep, timeout};

use super::code::Code;
use super::gate::Gate;
use super::limits::Limits;
use super::page::page;
use super::pool::Pool;
use super::routes::{Service, answer};
use super::seal::Seal;
use super::upload::Room;
use super::work::Reader;
use crate::cli::batch::WORKER;

/// Where the desk is to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Place {
    /// The port; 0 is any that is free.
    pub(crate) port: u16,
    /// The address at which the network finds it, beside this machine itself.
    pub(crate) network: Option<IpAddr>,
}

/// Why there is no desk.
#[derive(Debug, thiserror::Error)]
pub(crate) enum DeskError {
    #[error("cannot listen at {address}: {}{}", in_system_words(.source), hint(.source))]
    Listen { address: SocketAddr, source: io::Error },
    #[error("the operating system gives no random numbers: {0}")]
    Random(#[from] getrandom::Error),
    #[error("cannot start: {}", in_system_words(.0))]
    Start(#[from] io::Error),
}

fn hint(error: &io::Error) -> &'static str {
    match error.kind() {
        io::ErrorKind::AddrInUse => ". Another program has that port; leave --port away",
        io::ErrorKind::AddrNotAvailable => ". It is no address of this machine",
        io::ErrorKind::PermissionDenied => ". Take a port above 1023",
        _ => "",
    }
}

/// Workers beyond these would only take memory: each holds a whole picture.
const MOST_WORKERS: usize = 4;
/// A port that is free here and taken there is tried again so often.
const TRIES: usize = 20;
/// More header fields than any browser sends.
const MOST_HEADERS: usize = 64;
const LONGEST_HEAD: usize = 32 << 10;

/// A desk that listens and does not answer yet.
pub(crate) struct Desk {
    listeners: Vec<TcpListener>,
    addresses: Vec<SocketAddr>,
    code: Code,
    service: Arc<Service>,
}

impl Desk {
    /// Takes its place.
    pub(crate) fn open(place: Place, limits: Limits, reader: Reader) -> Result<Self, DeskError> {
        let (listeners, addresses) = listen(place)?;
        let code = Code::new()?;
        let page = page(&reader.presets, &limits);
        let service = Arc::new(Service {
            gate: Gate::new(&addresses, code.clone()),
            limits,
            room: Room::new(&limits),
            pool: Pool::new(MOST_WORKERS, limits.work),
            reader,
            seal: Seal::new()?,
            page: page.into(),
        });
        Ok(Self { listeners, addresses, code, service })
    }

    /// The addresses to open in a browser, this machine's own first.
    pub(crate) fn urls(&self) -> Vec<String> {
        let url = |address| format!("http://{address}/{}/", self.code);
        self.addresses.iter().map(url).collect()
    }

    /// Answers until what `stop` gives says so; then what is under way may end, for a while. `opened`
    /// is done once it answers and can be stopped.
    pub(crate) fn answer_until<F: Future<Output = ()>, E: From<DeskError>>(
        self,
        stop: impl FnOnce() -> F,
        opened: impl FnOnce() -> Result<(), E>,
    ) -> Result<(), E> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(2)
            .thread_name(WORKER)
            .enable_all()
            .build()
            .map_err(DeskError::from)?;
        runtime.block_on(async {
            let (stop_all, stopping) = watch::channel(false);
            let most = self.service.limits.connections;
            let connections = Arc::new(Semaphore::new(most));
            let mut listening = Vec::new();
            for listener in self.listeners {
                let listener = listener
                    .set_nonblocking(true)
                    .and_then(|()| tokio::net::TcpListener::from_std(listener))
                    .map_err(DeskError::from)?;
                let (service, connections) = (Arc::clone(&self.service), Arc::clone(&connections));
                let stopping = stopping.clone();
                listening.push(tokio::spawn(accept(listener, service, connections, stopping)));
            }
            let stop = stop();
            opened()?;
            stop.await;
            listening.iter().for_each(tokio::task::JoinHandle::abort);
            for ended in listening {
                // It was told to end; that it did not end by itself is no news.
                let _ = ended.await;
            }
            stop_all.send_replace(true);
            // All are free once nobody is attended any more; what is not done by then is given up.
            let all = u32::try_from(most).unwrap_or(u32::MAX);
            let _ = timeout(self.service.limits.farewell, connections.acquire_many(all)).await;
            Ok::<(), E>(())
        })?;
        runtime.shutdown_background();
        Ok(())
    }
}

/// Listens on this machine and, at the same port, in the network.
fn listen(place: Place) -> Result<(Vec<TcpListener>, Vec<SocketAddr>), DeskError> {
    let bind = |ip: IpAddr, port| {
        let address = SocketAddr::new(ip, port);
        TcpListener::bind(address).map_err(|source| DeskError::Listen { address, source })
    };
    let mut tries = 1;
    loop {
        let own = bind(Ipv4Addr::LOCALHOST.into(), place.port)?;
        let port = own.local_addr()?.port();
        let outward = place.network.filter(|ip| !ip.is_loopback()).map(|ip| bind(ip, port));
        match outward.transpose() {
            Ok(outward) => {
                let listeners: Vec<_> = std::iter::once(own).chain(outward).collect();
                let addresses = listeners.iter().map(TcpListener::local_addr);
                let addresses = addresses.collect::<io::Result<_>>()?;
                return Ok((listeners, addresses));
            }
            Err(DeskError::Listen { source, .. })
                if source.kind() == io::ErrorKind::AddrInUse
                    && place.port == 0
                    && tries < TRIES =>
            {
                tries += 1;
            }
            Err(error) => return Err(error),
        }
    }
}

async fn accept(
    listener: tokio::net::TcpListener,
    service: Arc<Service>,
    connections: Arc<Semaphore>,
    stopping: watch::Receiver<bool>,
) {
    loop {
        let Ok(place) = Arc::clone(&connections).acquire_owned().await else { return };
        match listener.accept().await {
            Ok((stream, _)) => {
                tokio::spawn(attend(stream, Arc::clone(&service), place, stopping.clone()));
            }
            // Out of file handles, or a caller that has gone already: others may do better.
            Err(_) => sleep(Duration::from_millis(50)).await,
        }
    }
}

async fn attend(
    stream: TcpStream,
    service: Arc<Service>,
    place: OwnedSemaphorePermit,
    mut stopping: watch::Receiver<bool>,
) {
    let limits = service.limits;
    // Without it answers are only slower.
    let _ = stream.set_nodelay(true);
    let answering = service_fn(move |request| {
        let service = Arc::clone(&service);
        async move { Ok::<_, Infallible>(answer(&service, request).await) }
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(limits.head)
        .max_headers(MOST_HEADERS)
        .max_header_size(LONGEST_HEAD)
        .serve_connection(TokioIo::new(stream), answering);
    let stopped = async { drop(stopping.wait_for(|stop| *stop).await) };
    let attended = async {
        let mut connection = pin!(connection);
        // Broken connections are the caller's affair.
        tokio::select! {
            _ = connection.as_mut() => {}
            () = stopped => {
                connection.as_mut().graceful_shutdown();
                let _ = connection.await;
            }
        }
    };
    let _ = timeout(limits.connection, attended).await;
    drop(place);
}
