//! Who may ask: see the crate's own words on it.

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use crate::reply::Refusal;

/// Sent with every answer. The drawings' typeface lies in their own style sheet, hence `font-src data:`.
const SENT_ALWAYS: [(HeaderName, HeaderValue); 7] = [
    (
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; font-src data:; \
             form-action 'none'; frame-ancestors 'none'; base-uri 'none'",
        ),
    ),
    (header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff")),
    (header::X_FRAME_OPTIONS, HeaderValue::from_static("DENY")),
    (header::REFERRER_POLICY, HeaderValue::from_static("no-referrer")),
    (header::CACHE_CONTROL, HeaderValue::from_static("no-store")),
    (HeaderName::from_static("cross-origin-resource-policy"), HeaderValue::from_static("same-origin")),
    (HeaderName::from_static("cross-origin-opener-policy"), HeaderValue::from_static("same-origin")),
];

/// The names under which the page may be asked for.
#[derive(Clone, Debug)]
pub(crate) struct Doors {
    hosts: [String; 2],
    origins: [String; 2],
}

impl Doors {
    pub(crate) fn new(port: u16) -> Doors {
        let hosts = [format!("127.0.0.1:{port}"), format!("localhost:{port}")];
        let origins = hosts.clone().map(|host| format!("http://{host}"));
        Doors { hosts, origins }
    }

    /// Judges a request by its head alone.
    fn judge(&self, method: &Method, headers: &HeaderMap) -> Result<(), Refusal> {
        if !all(headers, header::HOST, 1, |host| self.hosts.iter().any(|ours| ours == host)) {
            return Err(Refusal::new(
                StatusCode::FORBIDDEN,
                "This request names another host. Open the address that the command printed.",
            ));
        }
        if !all(headers, header::ORIGIN, 0, |origin| self.origins.iter().any(|ours| ours == origin)) {
            return Err(Refusal::new(
                StatusCode::FORBIDDEN,
                "This request comes from a page of another origin. Only the bench page itself may ask.",
            ));
        }
        let from = HeaderName::from_static("sec-fetch-site");
        if !all(headers, from, 0, |site| matches!(site, "same-origin" | "none")) {
            return Err(Refusal::new(
                StatusCode::FORBIDDEN,
                "This request was sent from another site. Only the bench page itself may ask.",
            ));
        }
        let is_json =
            |media: &str| media.split(';').next().is_some_and(|kind| kind.trim() == "application/json");
        if *method == Method::POST && !all(headers, header::CONTENT_TYPE, 1, is_json) {
            return Err(Refusal::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "This request does not carry JSON. Send it with the content type application/json.",
            ));
        }
        Ok(())
    }
}

/// True when the header stands there at least `least` times and at most once, and fits.
fn all(headers: &HeaderMap, name: HeaderName, least: usize, fits: impl Fn(&str) -> bool) -> bool {
    let values: Vec<_> = headers.get_all(name).iter().collect();
    (least..=1).contains(&values.len()) && values.iter().all(|value| value.to_str().is_ok_and(&fits))
}

/// Refuses what [`Doors`] does not let in and seals every answer.
pub(crate) async fn stand(State(doors): State<Doors>, request: Request, next: Next) -> Response {
    let mut response = match doors.judge(request.method(), request.headers()) {
        Ok(()) => next.run(request).await,
        Err(refusal) => refusal.into_response(),
    };
    response.headers_mut().extend(SENT_ALWAYS);
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    fn verdict(method: Method, lines: &[(&'static str, &str)]) -> u16 {
        let mut headers = HeaderMap::new();
        for (name, value) in lines {
            headers.append(*name, HeaderValue::from_str(value).unwrap());
        }
        Doors::new(4000)
            .judge(&method, &headers)
            .map_or_else(|refusal| refusal.into_response().status().as_u16(), |()| 200)
    }

    #[test]
    fn only_the_page_itself_is_let_in() {
        let ours = ("host", "127.0.0.1:4000");
        let json = ("content-type", "application/json");
        for (method, lines, status) in [
            (Method::GET, vec![ours], 200),
            (Method::GET, vec![("host", "localhost:4000"), ("sec-fetch-site", "none")], 200),
            (Method::GET, vec![], 403),
            (Method::GET, vec![("host", "127.0.0.1")], 403),
            (Method::GET, vec![("host", "127.0.0.1:4001")], 403),
            (Method::GET, vec![("host", "plywood.example:4000")], 403),
            (Method::GET, vec![ours, ours], 403),
            (Method::GET, vec![ours, ("sec-fetch-site", "cross-site")], 403),
            (Method::GET, vec![ours, ("sec-fetch-site", "same-site")], 403),
            (Method::POST, vec![ours, json], 200),
            (Method::POST, vec![ours, json, ("origin", "http://127.0.0.1:4000")], 200),
            (Method::POST, vec![ours, json, ("origin", "http://localhost:4000")], 200),
            (Method::POST, vec![ours, json, ("origin", "https://127.0.0.1:4000")], 403),
            (Method::POST, vec![ours, json, ("origin", "http://127.0.0.1:4000.example")], 403),
            (Method::POST, vec![ours, json, ("origin", "null")], 403),
            (Method::POST, vec![ours], 415),
            (Method::POST, vec![ours, ("content-type", "text/plain")], 415),
            (Method::POST, vec![ours, ("content-type", "application/json; charset=utf-8")], 200),
        ] {
            assert_eq!(verdict(method.clone(), &lines), status, "{method} {lines:?}");
        }
    }
}
