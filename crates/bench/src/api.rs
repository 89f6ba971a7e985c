//! What the page may ask, and what it gets.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::middleware;
use axum::response::Response;
use axum::routing::{get, post};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use tokio::sync::{Semaphore, mpsc};
use tokio_stream::wrappers::ReceiverStream;

use crate::assets::{ASSETS, INDEX};
use crate::folder::{Folder, SaveFault, save};
use crate::guard::{self, Doors};
use crate::reply::{self, Refusal};
use crate::turns::{LONGEST_NAME, Turn, Turns};
use crate::{LONGEST_WAIT, MOST_BYTES, keys, work};

/// Progress is told no more often than this: the page draws at most so fast.
const BETWEEN_NEWS: Duration = Duration::from_millis(60);

/// How many plans are sought at once.
pub(crate) fn planners() -> usize {
    std::thread::available_parallelism().map_or(2, usize::from).max(2)
}

/// What all requests share.
#[derive(Clone)]
struct Bench {
    folder: Arc<dyn Folder>,
    turns: Arc<Turns>,
    planners: Arc<Semaphore>,
    /// Held while something is written, so that no two pages write at once.
    writing: Arc<Mutex<()>>,
}

/// Every address the bench answers, all of them below `key`.
pub(crate) fn routes(port: u16, key: &str, folder: Arc<dyn Folder>) -> Router {
    let bench = Bench {
        folder,
        turns: Arc::default(),
        planners: Arc::new(Semaphore::new(planners())),
        writing: Arc::default(),
    };
    let mut router = Router::new();
    for asset in [INDEX].into_iter().chain(ASSETS) {
        router =
            router.route(&format!("/{key}/{}", asset.name), get(move || async move { asset.response() }));
    }
    let below = |name: &str| format!("/{key}/{name}");
    router
        .route(
            &below("drawing.css"),
            get(|| async { reply::typed("text/css; charset=utf-8", Body::from(work::drawing_style())) }),
        )
        .route(&below("api/start"), get(start))
        .route(&below("api/face"), post(face))
        .route(&below("api/plan"), post(plan))
        .route(&below("api/variants"), post(variants))
        .route(&below("api/stop"), post(stop))
        .route(&below("api/save"), post(save_job))
        .route(&below("api/packet"), post(packet))
        .route(&below("api/file"), post(file))
        .fallback(|| async { Refusal::new(StatusCode::NOT_FOUND, "There is nothing at this address.") })
        .method_not_allowed_fallback(|| async {
            Refusal::new(StatusCode::METHOD_NOT_ALLOWED, "This address takes another kind of request.")
        })
        .layer(middleware::from_fn_with_state(Doors::new(port), guard::stand))
        .with_state(bench)
}

/// A job from a page that has a name of its own.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Ask {
    page: String,
    job: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Stop {
    page: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Save {
    job: String,
    /// What the page last read or saved; nothing where there was no file.
    base: Option<String>,
    /// The user said to write over whatever is there.
    #[serde(default)]
    over: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Job {
    job: String,
}

/// A job and which of its tops, from 0, is set beside other patterns.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Variants {
    job: String,
    top: usize,
}

/// A file of the packet, for the browser to keep; it is made afresh and never read from the disk.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    job: String,
    name: String,
}

/// Reads a request's JSON within the limits of size and time.
async fn body<T: DeserializeOwned>(request: Request) -> Result<T, Refusal> {
    let read = tokio::time::timeout(LONGEST_WAIT, to_bytes(request.into_body(), MOST_BYTES));
    let bytes = read
        .await
        .map_err(|_| Refusal::new(StatusCode::REQUEST_TIMEOUT, "The request took too long to arrive."))?
        .map_err(|_| {
            let limit =
                format!("The request is broken off or larger than the {MOST_BYTES} bytes that are read.");
            Refusal::new(StatusCode::PAYLOAD_TOO_LARGE, limit)
        })?;
    serde_json::from_slice(&bytes).map_err(|error| {
        Refusal::new(
            StatusCode::BAD_REQUEST,
            format!("The request is not what the bench understands: {error}."),
        )
    })
}

/// A page's name for itself must be short; nothing else is asked of it.
fn named(page: &str) -> Result<(), Refusal> {
    if page.len() <= LONGEST_NAME {
        return Ok(());
    }
    let sentence = format!("A page's name may have {LONGEST_NAME} bytes at most.");
    Err(Refusal::new(StatusCode::BAD_REQUEST, sentence))
}

/// Runs work that takes a while off the thread that answers; a panic in it becomes an answer too.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T, Refusal> {
    tokio::task::spawn_blocking(work).await.map_err(|_| {
        Refusal::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "The program made a mistake of its own on this job. Undo the last change, and please report the job.",
        )
    })
}

async fn start(State(bench): State<Bench>) -> Result<Response, Refusal> {
    let started = aside(move || {
        let job = bench.folder.read_job()?;
        Ok::<Value, String>(json!({
            "job": job,
            "starter": bench.folder.starter(),
            "keys": keys::table(),
            "job_place": bench.folder.job_place(),
            "packet_place": bench.folder.packet_place(),
            "version": env!("CARGO_PKG_VERSION"),
        }))
    })
    .await?;
    let value = started.map_err(|sentence| Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, sentence))?;
    Ok(reply::json(&value))
}

async fn face(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: Ask = body(request).await?;
    named(&ask.page)?;
    let faces = aside(move || work::faces(&ask.job, bench.folder.as_ref())).await?;
    Ok(reply::typed("application/json", Body::from(faces)))
}

async fn variants(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: Variants = body(request).await?;
    let found = aside(move || work::variants(&ask.job, ask.top, bench.folder.as_ref())).await?;
    Ok(reply::json(&found))
}

/// Answers with lines of JSON: the search's news as it comes, then the plan or the faults.
async fn plan(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: Ask = body(request).await?;
    named(&ask.page)?;
    let turn = bench.turns.begin(&ask.page);
    let (lines, stream) = mpsc::channel::<Result<Bytes, std::convert::Infallible>>(16);
    tokio::spawn(async move {
        let Ok(_place) = bench.planners.acquire().await else { return };
        let news = News { lines: lines.clone(), turn: turn.clone(), told: now(), before: Value::Null };
        let last = if turn.is_overtaken() {
            line(&json!({ "kind": "overtaken" }))
        } else {
            let folder = bench.folder.clone();
            match aside(move || seek(&ask.job, folder.as_ref(), news)).await {
                Ok(last) => last,
                Err(_) => line(&json!({ "kind": "broken" })),
            }
        };
        let _ = lines.send(Ok(last)).await;
    });
    Ok(reply::typed("application/x-ndjson", Body::from_stream(ReceiverStream::new(stream))))
}

/// The pace of the news, which no plan depends on.
#[expect(
    clippy::disallowed_methods,
    reason = "how often a page is told is the one thing here that the clock decides"
)]
fn now() -> Instant {
    Instant::now()
}

/// What a search tells while it runs.
struct News {
    lines: mpsc::Sender<Result<Bytes, std::convert::Infallible>>,
    turn: Turn,
    told: Instant,
    before: Value,
}

impl News {
    /// Tells how far the search is; false once it should end.
    fn tell(&mut self, bound: i64, best: Option<i64>) -> bool {
        if self.lines.is_closed() {
            // The page went away or took its question back.
            self.turn.overtake();
        }
        let news = json!({ "kind": "progress", "bound": bound, "best": best });
        if news != self.before && self.told.elapsed() >= BETWEEN_NEWS {
            // A page that does not keep up misses a line of news, never the plan.
            if self.lines.try_send(Ok(line(&news))).is_ok() {
                self.told = now();
                self.before = news;
            }
        }
        self.turn.goes_on()
    }
}

fn seek(job: &str, folder: &dyn Folder, mut news: News) -> Bytes {
    let turn = news.turn.clone();
    match work::plan(job, folder, |bound, best| news.tell(bound, best)) {
        _ if turn.is_overtaken() => line(&json!({ "kind": "overtaken" })),
        Ok(planned) => Bytes::from(work::shown(&planned.plan) + "\n"),
        Err(faults) => line(&work::faults(&faults)),
    }
}

fn line(value: &Value) -> Bytes {
    Bytes::from(format!("{value}\n"))
}

async fn stop(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: Stop = body(request).await?;
    bench.turns.stop(&ask.page);
    Ok(reply::json(&json!({})))
}

async fn save_job(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: Save = body(request).await?;
    let saved = aside(move || {
        let _alone = bench.writing.lock().unwrap_or_else(PoisonError::into_inner);
        if ask.over {
            bench.folder.save_job(&ask.job).map_err(SaveFault::Refused)
        } else {
            save(bench.folder.as_ref(), &ask.job, ask.base.as_deref())
        }
    })
    .await?;
    match saved {
        Ok(()) => Ok(reply::json(&json!({}))),
        Err(SaveFault::Changed) => Err(Refusal::new(
            StatusCode::CONFLICT,
            "The job file was changed by something else since this page read it.",
        )),
        Err(SaveFault::Gone) => Err(Refusal::new(
            StatusCode::GONE,
            "The job file is gone: something else moved or deleted it since this page read it.",
        )),
        Err(SaveFault::Refused(sentence)) => Err(Refusal::new(StatusCode::INTERNAL_SERVER_ERROR, sentence)),
    }
}

/// Plans a job for its packet; its faults as sentences.
fn planned(bench: &Bench, job: &str) -> Result<work::Planned, String> {
    work::plan(job, bench.folder.as_ref(), |_, _| true)
        .map_err(|faults| faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
}

async fn packet(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: Job = body(request).await?;
    let place = bench.planners.clone().acquire_owned().await;
    let written = aside(move || {
        // Held until the work is done, even when nobody waits for it any more.
        let _place = place;
        let work::Planned { plan, offcuts } = planned(&bench, &ask.job)?;
        let _alone = bench.writing.lock().unwrap_or_else(PoisonError::into_inner);
        bench.folder.write_packet(&ask.job, offcuts.as_deref(), &plan)
    })
    .await?;
    match written {
        Ok(sentence) => Ok(reply::json(&json!({ "written": sentence }))),
        Err(sentence) => Err(Refusal::new(StatusCode::UNPROCESSABLE_ENTITY, sentence)),
    }
}

async fn file(State(bench): State<Bench>, request: Request) -> Result<Response, Refusal> {
    let ask: File = body(request).await?;
    let place = bench.planners.clone().acquire_owned().await;
    let made = aside(move || {
        let _place = place;
        work::file(&planned(&bench, &ask.job)?.plan, &ask.name)
    })
    .await?;
    match made {
        Ok(Some(bytes)) => Ok(reply::typed("application/octet-stream", Body::from(bytes))),
        Ok(None) => Err(Refusal::new(StatusCode::NOT_FOUND, "The packet has no file of that name.")),
        Err(sentence) => Err(Refusal::new(StatusCode::UNPROCESSABLE_ENTITY, sentence)),
    }
}
