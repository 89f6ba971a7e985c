// What must hold for any bytes at all. The fuzz targets beside this file and the test `properties` share it.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::{Arc, LazyLock};
use std::time::Duration;

use serde_json::Value;
use stripwright_bench::listen;
use stripwright_plan::{Budget, Job, Options, Plan, audit, audit_against, faces, plan};
use stripwright_units::{Length, System};

#[path = "../support/kept.rs"]
mod kept;
use kept::Kept;

/// A length is read exactly or refused in one sentence; what is read is read again as it is shown.
pub(crate) fn lengths(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for system in [System::Metric, System::Inch] {
        match Length::parse(text, system) {
            Ok(length) => {
                assert!((0..=100_000_000_000).contains(&length.nm()), "{text}: {length:?}");
                assert_eq!(Length::parse(&length.to_string(), System::Inch), Ok(length), "{text}");
            }
            Err(error) => assert!(!error.to_string().trim().is_empty(), "{text}"),
        }
    }
}

/// Pieces of a job that is planned here: larger ones take their time and show nothing more.
const PLANNED: u32 = 40;

/// A job is refused in sentences with places inside it, or it is planned and its plan holds.
pub(crate) fn jobs(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let lines = text.split('\n').count() as u32;
    let refused = |faults: &[stripwright_plan::Fault]| {
        assert!(!faults.is_empty());
        for fault in faults {
            assert!(!fault.text.trim().is_empty());
            // Only a text that holds nothing has no place to point at.
            assert!(fault.place.is_some() || text.trim().is_empty(), "{text}\n{fault}");
            assert!(fault.place.is_none_or(|place| (1..=lines).contains(&place.line) && place.column >= 1));
        }
    };
    let job = match Job::read(text) {
        Ok(job) => job,
        Err(faults) => return refused(&faults),
    };
    let tops: u32 = job.tops.iter().map(|top| top.count).sum();
    let rest = job.parts.iter().map(|part| part.count).chain(job.sticks.iter().map(|stick| stick.count));
    if tops > 2 || job.bases.len() > 2 || rest.sum::<u32>() > PLANNED {
        return;
    }
    if let Err(faults) = faces(&job) {
        refused(&faults);
    }
    // No more than the first bound and the first plan.
    let mut options = Options { budget: Budget { work: 1 }, progress: &mut |_| false, compare_slabs: false };
    match plan(&job, &mut options) {
        Ok(plan) => {
            audit(&plan).unwrap_or_else(|objections| panic!("{text}\n{objections:#?}"));
            audit_against(&plan, &job).unwrap_or_else(|objections| panic!("{text}\n{objections:#?}"));
            let again: Plan = serde_json::from_str(&serde_json::to_string(&plan).unwrap()).unwrap();
            assert!(again == plan, "{text}");
        }
        Err(faults) => refused(&faults),
    }
}

/// A job whose optimum is known by hand, what it costs, and the plan that is found for it.
struct Known {
    least: i64,
    plan: Value,
}

impl Known {
    fn new(job: &str, least: i64) -> Self {
        let mut options =
            Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: false };
        let plan = plan(&Job::read(job).unwrap(), &mut options).unwrap();
        Known { least, plan: serde_json::to_value(plan).unwrap() }
    }
}

/// Five panels of 400 x 200 on boards of 1000 x 500 with a kerf of 3.2. By hand: the length takes two panels of 400
/// or four of 200, the width two of 200 or one of 400, so a board takes four, and five need two boards.
static PANELS: LazyLock<Known> = LazyLock::new(|| {
    let job = r#"{"sheets":[{"name":"board","length":1000,"width":500,"price":10}],
        "parts":[{"name":"panel","length":400,"width":200,"count":5}]}"#;
    Known::new(job, 2000)
});

/// Three halves of a board and three sixths, which fill two boards but do not go into two: a proof by cases.
static HALVES: LazyLock<Known> = LazyLock::new(|| {
    let job = r#"{"sheets":[{"name":"board","length":1212,"width":406,"price":5}],
        "parts":[{"name":"half","length":600,"width":400,"count":3,"may_turn":false},
        {"name":"sixth","length":400,"width":200,"count":3,"may_turn":false}],
        "cutting":{"first":"crosscut","stages":2,"rip_kerf":3,"crosscut_kerf":3}}"#;
    let known = Known::new(job, 1500);
    assert!(known.plan["certificate"].to_string().contains("forks"));
    known
});

/// No certificate whatever proves more than is true, and no plan whatever makes the audit fall over.
///
/// Bytes that begin with `{` are a plan. Others are changes to the proof of a plan whose optimum is known: which number,
/// what to do with it, and eight bytes of operand each. Where the last change is a byte short of that, the proof is by cases.
pub(crate) fn certificates(bytes: &[u8]) {
    if bytes.first() == Some(&b'{') {
        if let Ok(plan) = serde_json::from_slice::<Plan>(bytes) {
            let _ = audit(&plan);
        }
        return;
    }
    let known = if bytes.len() % 10 == 9 { &*HALVES } else { &*PANELS };
    let mut changed = known.plan.clone();
    for change in bytes.chunks_exact(10).take(8) {
        let operand = i64::from_le_bytes(change[2..].try_into().unwrap_or_default());
        let mut numbers = Vec::new();
        let claims = changed.as_object_mut().unwrap();
        for (key, value) in claims.iter_mut() {
            if ["certificate", "bound", "demands", "layouts", "buy"].contains(&key.as_str()) {
                gather(value, &mut numbers);
            }
        }
        let many = numbers.len();
        let number = &mut numbers[usize::from(change[0]) * many / 256];
        let own = number.as_i64().unwrap_or_default();
        **number = match change[1] % 5 {
            0 => Value::from(operand),
            1 => Value::from(operand % 256),
            2 => Value::from(own.wrapping_add(operand % 256)),
            3 => Value::from(own.wrapping_mul(operand % 16)),
            _ => Value::from(own.wrapping_neg()),
        };
    }
    let same = |key: &str| changed[key] == known.plan[key];
    let Ok(plan) = serde_json::from_value::<Plan>(changed.clone()) else { return };
    if let Ok(verdict) = audit(&plan)
        && ["demands", "sheets", "cutting"].into_iter().all(same)
    {
        assert!(verdict.bound.minor() <= known.least, "{:?} is proven to be needed", verdict.bound);
        assert!(verdict.money.minor() >= known.least, "{:?} is enough", verdict.money);
    }
}

fn gather<'v>(value: &'v mut Value, numbers: &mut Vec<&'v mut Value>) {
    match value {
        Value::Number(_) => numbers.push(value),
        Value::Array(list) => list.iter_mut().for_each(|value| gather(value, numbers)),
        Value::Object(object) => object.values_mut().for_each(|value| gather(value, numbers)),
        _ => {}
    }
}

/// Host and path of a bench that runs until the process ends.
static BENCH: LazyLock<(String, String)> = LazyLock::new(|| {
    let listening = listen(0).unwrap();
    let url = listening.url();
    std::thread::spawn(move || listening.serve(Arc::new(Kept::default())).unwrap());
    let (host, path) = url.strip_prefix("http://").unwrap().split_once('/').unwrap();
    (host.to_owned(), format!("/{path}"))
});

/// Every request gets an answer, and not one that tells of a slip; bytes that are no request leave the bench alive.
///
/// The first byte says which request the others are the body of; other first bytes are sent as they are.
pub(crate) fn requests(bytes: &[u8]) {
    let (host, path) = &*BENCH;
    let send = |bytes: &[u8], hang_up: bool| {
        let mut stream = TcpStream::connect(host).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
        // The bench may answer and close before it has read everything.
        let _ = stream.write_all(bytes);
        if hang_up {
            let _ = stream.shutdown(std::net::Shutdown::Write);
        }
        let mut answer = Vec::new();
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    };
    let framed = |method: &str, name: &str, body: &[u8]| {
        let head = format!(
            "{method} {path}{name} HTTP/1.1\r\nhost: {host}\r\ncontent-type: application/json\r\nconnection: close\r\n\
             content-length: {}\r\n\r\n",
            body.len()
        );
        send(&[head.as_bytes(), body].concat(), false)
    };
    let kinds = ["face", "plan", "stop", "save", "packet", "file"];
    let name = bytes.first().and_then(|first| kinds.get(usize::from(first.wrapping_sub(b'0'))));
    match name {
        Some(name) => {
            let answer = framed("POST", &format!("api/{name}"), &bytes[1..]);
            let status = answer.split(' ').nth(1).and_then(|word| word.parse::<u16>().ok());
            assert!(status.is_some_and(|status| (200..500).contains(&status)), "{name}: {answer}");
            assert!(!answer.contains("\"kind\":\"broken\""), "{name}: {answer}");
        }
        None => drop(send(bytes, true)),
    }
    assert!(framed("GET", "", b"").starts_with("HTTP/1.1 200"), "the bench no longer answers");
}
