//! What the bench does with requests that its own page would never send.
//!
//! Every case must get an answer (or a closed connection) in good time, must not end the program, and must leave the
//! folder alone.

#![allow(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "a test ends where it cannot go on, and times the server"
)]

use std::io::{Read, Write};
use std::net::{Shutdown, TcpStream};
use std::sync::Arc;
use std::time::Duration;

use proptest::prelude::*;
use stripwright_bench::{LONGEST_WAIT, MOST_BYTES, MOST_CONNECTIONS, MOST_PAGES, listen};

#[path = "../../../tests/support/kept.rs"]
mod kept;
use kept::Kept;

/// A bench that runs until the test process ends.
struct Running {
    host: String,
    path: String,
    folder: Arc<Kept>,
}

impl Running {
    fn begin() -> Running {
        let listening = listen(0).unwrap();
        let url = listening.url();
        let folder = Arc::new(Kept::default());
        let served = folder.clone();
        std::thread::spawn(move || listening.serve(served).unwrap());
        let (host, path) = url.strip_prefix("http://").unwrap().split_once('/').unwrap();
        Running { host: host.to_owned(), path: format!("/{path}"), folder }
    }

    /// Sends bytes as they are and nothing after them.
    fn raw(&self, bytes: &[u8]) -> Vec<u8> {
        self.send(bytes, true)
    }

    /// Gives back all that comes until the other side closes.
    fn send(&self, bytes: &[u8], hang_up: bool) -> Vec<u8> {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
        // The bench may answer and close before it has read everything.
        let _ = stream.write_all(bytes);
        if hang_up {
            let _ = stream.shutdown(Shutdown::Write);
        }
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        answer
    }

    /// A request with a head of these lines and a body, and the status it got; 0 where the connection was just closed.
    fn ask(&self, method: &str, path: &str, lines: &[String], body: &[u8]) -> (u16, String) {
        let mut bytes = format!("{method} {path} HTTP/1.1\r\n").into_bytes();
        for line in lines {
            bytes.extend_from_slice(line.as_bytes());
            bytes.extend_from_slice(b"\r\n");
        }
        bytes.extend_from_slice(
            format!("connection: close\r\ncontent-length: {}\r\n\r\n", body.len()).as_bytes(),
        );
        bytes.extend_from_slice(body);
        let answer = String::from_utf8_lossy(&self.send(&bytes, false)).into_owned();
        let status = answer.split(' ').nth(1).and_then(|word| word.parse().ok()).unwrap_or(0);
        (status, answer)
    }

    fn ours(&self) -> Vec<String> {
        vec![format!("host: {}", self.host)]
    }

    fn post(&self, name: &str, body: &[u8]) -> (u16, String) {
        let mut lines = self.ours();
        lines.push("content-type: application/json".into());
        self.ask("POST", &format!("{}api/{name}", self.path), &lines, body)
    }

    /// The page still answers.
    fn lives(&self) {
        assert_eq!(self.ask("GET", &self.path, &self.ours(), b"").0, 200);
    }
}

#[test]
fn the_page_and_nothing_else_is_there() {
    let bench = Running::begin();
    let (status, answer) = bench.ask("GET", &bench.path, &bench.ours(), b"");
    assert_eq!(status, 200);
    for sealed in [
        "content-security-policy: default-src 'none'",
        "x-content-type-options: nosniff",
        "cache-control: no-store",
    ] {
        assert!(answer.contains(sealed), "{sealed}");
    }
    let key = bench.path.trim_matches('/').to_owned();
    let wrong_key = format!("/{}/", "0".repeat(key.len()));
    for path in [
        "/",
        "/api/start",
        "/favicon.ico",
        &wrong_key,
        &format!("/{key}"),
        &format!("/{key}/../"),
        &format!("/{key}/../../etc/passwd"),
        &format!("/{key}/..%2f..%2fetc%2fpasswd"),
        &format!("/{key}/%2e%2e/%2e%2e/etc/passwd"),
        &format!("/{key}//etc/passwd"),
        &format!("/{key}/api/../api/start"),
        &format!("/{key}/C:\\boot.ini"),
        &format!("/{key}/bench.css/"),
        &format!("/{key}/bench.css%00"),
        &format!("/{}/", key.to_uppercase()),
    ] {
        let (status, answer) = bench.ask("GET", path, &bench.ours(), b"");
        // An upper-case key may by chance have no letters, and is then the key.
        assert!(status == 404 || path.trim_matches('/') == key, "{path}: {status}");
        assert!(!answer.contains("root:"), "{path}");
    }
    for method in ["POST", "PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "BREW"] {
        let mut lines = bench.ours();
        lines.push("content-type: application/json".into());
        let (status, _) = bench.ask(method, &bench.path, &lines, b"{}");
        assert!((400..500).contains(&status), "{method}: {status}");
    }
    bench.lives();
}

#[test]
fn other_hosts_origins_and_kinds_of_body_are_refused() {
    let bench = Running::begin();
    let save = format!("{}api/save", bench.path);
    let body = br#"{"job":"stolen","base":null}"#;
    let host = format!("host: {}", bench.host);
    let json = "content-type: application/json".to_owned();
    for (lines, wanted) in [
        (vec![json.clone()], 400..404),
        (vec!["host: plywood.example".into(), json.clone()], 403..404),
        (vec![format!("host: {}.example", bench.host), json.clone()], 403..404),
        (vec![host.clone(), json.clone(), "origin: http://plywood.example".into()], 403..404),
        (vec![host.clone(), json.clone(), "origin: null".into()], 403..404),
        (vec![host.clone(), json.clone(), "sec-fetch-site: cross-site".into()], 403..404),
        (vec![host.clone()], 415..416),
        (vec![host.clone(), "content-type: text/plain".into()], 415..416),
        (vec![host.clone(), "content-type: application/x-www-form-urlencoded".into()], 415..416),
    ] {
        let (status, _) = bench.ask("POST", &save, &lines, body);
        assert!(wanted.contains(&status), "{lines:?}: {status}");
    }
    assert_eq!(*bench.folder.job.lock().unwrap(), None, "nothing was saved");
    assert_eq!(bench.ask("POST", &save, &[host, json], body).0, 200);
    assert_eq!(bench.folder.job.lock().unwrap().as_deref(), Some("stolen"));
}

#[test]
fn a_body_over_the_limit_is_refused_and_one_at_the_limit_is_read() {
    let bench = Running::begin();
    let long = |bytes: usize| {
        let frame = r#"{"page":"p","job":""}"#.len();
        format!(r#"{{"page":"p","job":"{}"}}"#, "x".repeat(bytes - frame))
    };
    assert_eq!(bench.post("face", long(MOST_BYTES).as_bytes()).0, 200);
    let (status, answer) = bench.post("face", long(MOST_BYTES + 1).as_bytes());
    assert!(status == 413 || status == 0, "{status}");
    assert!(status == 0 || answer.contains("larger than"), "{answer}");
    // A length that is only claimed.
    let claim = format!(
        "POST {}api/face HTTP/1.1\r\nhost: {}\r\ncontent-type: application/json\r\ncontent-length: 99999999999\r\n\r\n{{",
        bench.path, bench.host
    );
    bench.raw(claim.as_bytes());
    // Chunks without end.
    let mut chunks = format!("POST {}api/face HTTP/1.1\r\nhost: {}\r\ncontent-type: application/json\r\ntransfer-encoding: chunked\r\n\r\n", bench.path, bench.host).into_bytes();
    for _ in 0..(2 * MOST_BYTES / 65536) {
        chunks.extend_from_slice(b"10000\r\n");
        chunks.extend_from_slice(&[b' '; 65536]);
        chunks.extend_from_slice(b"\r\n");
    }
    bench.raw(&chunks);
    // A head without end.
    let mut head = format!("GET {} HTTP/1.1\r\nhost: {}\r\n", bench.path, bench.host).into_bytes();
    head.extend("x-filler: 0123456789012345678901234567890123456789\r\n".repeat(40_000).bytes());
    bench.raw(&head);
    bench.lives();
}

#[test]
fn bad_json_gets_a_sentence_and_a_bad_job_its_faults() {
    let bench = Running::begin();
    for body in [
        &b""[..],
        b"{",
        b"[]",
        b"null",
        b"7",
        b"\xff\xfe",
        b"{\"page\":1,\"job\":\"\"}",
        b"{\"job\":7}",
        b"{\"page\":\"p\",\"job\":\"{}\",\"path\":\"/etc/passwd\"}",
        b"{\"page\":\"p\",\"job\":\"\\ud800\"}",
    ] {
        for name in ["face", "plan", "save", "packet", "file", "stop"] {
            let (status, answer) = bench.post(name, body);
            assert_eq!(status, 400, "{name} {body:?} {answer}");
            assert!(
                answer.contains("\"refused\":\"The request is not what the bench understands"),
                "{answer}"
            );
        }
    }
    let name = "n".repeat(65);
    assert_eq!(bench.post("face", format!(r#"{{"page":"{name}","job":""}}"#).as_bytes()).0, 400);
    let deep = format!("{}{}", "[".repeat(50_000), "]".repeat(50_000));
    let jobs = [
        "",
        "{",
        "null",
        "[]",
        "\\u0000",
        "{\\\"tops\\\": 5, \\\"sheets\\\": [[]]}",
        &deep,
        "{\\\"sheets\\\":[{\\\"length\\\":1e999}]}",
    ];
    for job in jobs {
        for name in ["face", "plan"] {
            let (status, answer) = bench.post(name, format!(r#"{{"page":"p","job":"{job}"}}"#).as_bytes());
            assert_eq!(status, 200, "{name} {job:.40}");
            assert!(answer.contains("\"faults\":[{"), "{name} {job:.40} {answer:.400}");
        }
    }
    // The envelope itself, nested deeper than any page would.
    assert_eq!(bench.post("plan", deep.as_bytes()).0, 400);
    assert_eq!(*bench.folder.job.lock().unwrap(), None);
    assert_eq!(*bench.folder.packets.lock().unwrap(), 0);
    bench.lives();
}

#[test]
fn a_job_that_something_else_saved_meanwhile_is_not_written_over() {
    let bench = Running::begin();
    assert_eq!(bench.post("save", br#"{"job":"one","base":null}"#).0, 200);
    *bench.folder.job.lock().unwrap() = Some("by another page".into());
    let (status, answer) = bench.post("save", br#"{"job":"two","base":"one"}"#);
    assert_eq!(status, 409);
    assert!(answer.contains("changed by something else"), "{answer}");
    assert_eq!(bench.folder.job.lock().unwrap().as_deref(), Some("by another page"));
    assert_eq!(bench.post("save", br#"{"job":"two","base":"one","over":true}"#).0, 200);
    assert_eq!(bench.folder.job.lock().unwrap().as_deref(), Some("two"));
    // Saving the same text again is no clash, whatever the page last read.
    assert_eq!(bench.post("save", br#"{"job":"two","base":"one"}"#).0, 200);
}

#[test]
fn a_job_that_something_else_deleted_is_told_as_gone_and_can_be_written_again() {
    let bench = Running::begin();
    assert_eq!(bench.post("save", br#"{"job":"one","base":null}"#).0, 200);
    *bench.folder.job.lock().unwrap() = None;
    let (status, answer) = bench.post("save", br#"{"job":"two","base":"one"}"#);
    assert_eq!(status, 410);
    assert!(answer.contains("The job file is gone"), "{answer}");
    assert_eq!(*bench.folder.job.lock().unwrap(), None);
    assert_eq!(bench.post("save", br#"{"job":"two","base":"one","over":true}"#).0, 200);
    assert_eq!(bench.folder.job.lock().unwrap().as_deref(), Some("two"));
}

/// A job that keeps the search busy: many sizes, three sheets of different prices.
fn long_job() -> String {
    let parts: Vec<String> = (0..40)
        .map(|n| {
            format!(
                r#"{{"name":"p{n}","length":{},"width":{},"count":{}}}"#,
                311 + 37 * n % 900,
                97 + 53 * n % 500,
                3 + n % 9
            )
        })
        .collect();
    format!(
        r#"{{"sheets":[{{"name":"a","length":2440,"width":1220,"price":"92"}},{{"name":"b","length":1525,"width":1525,"price":"71"}},{{"name":"c","length":1220,"width":1220,"price":"48"}}],"parts":[{}]}}"#,
        parts.join(",")
    )
}

fn ask_for(page: &str, job: &str) -> Vec<u8> {
    serde_json::json!({ "page": page, "job": job }).to_string().into_bytes()
}

#[test]
fn a_newer_question_of_a_page_ends_its_older_one_and_no_other() {
    let bench = Arc::new(Running::begin());
    let seek = |page: &'static str| {
        let bench = bench.clone();
        std::thread::spawn(move || bench.post("plan", &ask_for(page, &long_job())).1)
    };
    let (mine, other) = (seek("mine"), seek("other"));
    std::thread::sleep(Duration::from_millis(400));
    let begun = std::time::Instant::now();
    assert!(
        bench.post("face", &ask_for("mine", "{}")).1.contains("faults"),
        "pictures do not wait for plans"
    );
    let small = r#"{"sheets":[{"name":"a","length":2440,"width":1220}],"parts":[{"name":"p","length":300,"width":200}]}"#;
    let newer = bench.post("plan", &ask_for("mine", small)).1;
    let older = mine.join().unwrap();
    assert!(older.contains("\"kind\":\"overtaken\"") && !older.contains("\"kind\":\"plan\""), "{older:.300}");
    assert!(newer.contains("\"kind\":\"plan\""), "{newer:.300}");
    assert!(begun.elapsed() < Duration::from_secs(20), "the older search went on for {:?}", begun.elapsed());
    // Stopping keeps what was found.
    assert_eq!(bench.post("stop", br#"{"page":"other"}"#).0, 200);
    let stopped = other.join().unwrap();
    assert!(stopped.contains("\"kind\":\"plan\""), "{stopped:.300}");
}

#[test]
fn a_file_of_the_packet_is_one_that_the_packet_has() {
    let bench = Running::begin();
    let job = r#"{"sheets":[{"name":"a","length":2440,"width":1220}],"parts":[{"name":"p","length":300,"width":200}]}"#;
    let file = |name: &str| {
        bench.post("file", serde_json::json!({ "job": job, "name": name }).to_string().as_bytes())
    };
    let (status, pdf) = file("packet.pdf");
    assert!(status == 200 && pdf.contains("%PDF-"), "{status}");
    for name in ["", "/etc/passwd", "../job.json", "packet.pdf/", "PACKET.PDF", "job.json"] {
        assert_eq!(file(name).0, 404, "{name}");
    }
}

#[test]
fn more_pages_than_are_remembered_and_half_open_connections_do_no_harm() {
    let bench = Running::begin();
    let idle: Vec<TcpStream> = (0..100).map(|_| TcpStream::connect(&bench.host).unwrap()).collect();
    for mut stream in &idle {
        let _ = stream.write_all(b"POST / HTTP/1.1\r\nhost: x\r\ncontent-le");
    }
    for n in 0..=MOST_PAGES {
        assert_eq!(bench.post("plan", format!(r#"{{"page":"p{n}","job":"{{}}"}}"#).as_bytes()).0, 200);
    }
    bench.lives();
    drop(idle);
    bench.lives();
}

#[test]
fn a_head_that_does_not_arrive_ends_its_connection() {
    let bench = Running::begin();
    let waits = |head: &[u8]| {
        let begun = std::time::Instant::now();
        bench.send(head, false);
        begun.elapsed()
    };
    let asked = format!("GET {} HTTP/1.1\r\nhost: {}\r\n\r\n", bench.path, bench.host);
    // Nothing at all, half a head, and nothing more after an answer.
    for head in [&b""[..], b"GET / HT", asked.as_bytes()] {
        let waited = waits(head);
        assert!(waited >= LONGEST_WAIT && waited < 2 * LONGEST_WAIT, "{waited:?} for {head:?}");
    }
}

#[test]
fn connections_that_ask_nothing_hold_up_the_page_no_longer_than_a_head_may_take() {
    let bench = Running::begin();
    let begun = std::time::Instant::now();
    let silent: Vec<TcpStream> =
        (0..MOST_CONNECTIONS + 40).map(|_| TcpStream::connect(&bench.host).unwrap()).collect();
    bench.lives();
    let waited = begun.elapsed();
    assert!(waited >= LONGEST_WAIT, "more than {MOST_CONNECTIONS} connections were held: {waited:?}");
    assert!(waited < 2 * LONGEST_WAIT, "{waited:?}");
    drop(silent);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_bytes_at_all_leave_the_bench_alive(bytes in proptest::collection::vec(any::<u8>(), 0..600), framed in any::<bool>()) {
        static BENCH: std::sync::LazyLock<Running> = std::sync::LazyLock::new(Running::begin);
        if framed {
            for name in ["face", "plan", "save"] {
                let (status, _) = BENCH.post(name, &bytes);
                prop_assert!((200..500).contains(&status));
            }
        } else {
            BENCH.raw(&bytes);
        }
        BENCH.lives();
    }

    #[test]
    fn any_text_as_a_job_gets_an_answer(text in ".{0,300}") {
        static BENCH: std::sync::LazyLock<Running> = std::sync::LazyLock::new(Running::begin);
        let body = serde_json::json!({ "page": "p", "job": text }).to_string();
        for name in ["face", "plan"] {
            prop_assert_eq!(BENCH.post(name, body.as_bytes()).0, 200);
        }
    }
}
