//! Connections: how many there are at once, and how long each may take to say what it asks.

use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;

use crate::{LONGEST_WAIT, MOST_CONNECTIONS};

/// How long to wait where the system has no more connections to give, as it has again once one of ours is closed.
const BREATH: Duration = Duration::from_millis(200);

/// Answers connections for ever, so many at once; whoever comes later waits for one of them to end.
pub(crate) async fn serve(listener: TcpListener, routes: Router) -> Infallible {
    let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    loop {
        // The semaphore is never closed.
        let Ok(place) = places.clone().acquire_owned().await else { continue };
        match listener.accept().await {
            Ok((stream, _)) => {
                let routes = routes.clone();
                tokio::spawn(async move {
                    answer(stream, routes).await;
                    drop(place);
                });
            }
            Err(_) => tokio::time::sleep(BREATH).await,
        }
    }
}

/// Answers the requests of one connection. A head that does not arrive in time ends it, be it the first or a later one.
async fn answer(stream: TcpStream, routes: Router) {
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(LONGEST_WAIT)
        .serve_connection(TokioIo::new(stream), TowerToHyperService::new(routes));
    // Whoever breaks off or sends what is no HTTP is not answered.
    let _ = connection.await;
}
