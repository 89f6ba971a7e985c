//! What goes back: JSON, and refusals as whole sentences.

use axum::body::Body;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

/// A refusal that the page can show as it is.
#[derive(Debug)]
pub(crate) struct Refusal {
    status: StatusCode,
    sentence: String,
}

impl Refusal {
    pub(crate) fn new(status: StatusCode, sentence: impl Into<String>) -> Refusal {
        Refusal { status, sentence: sentence.into() }
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let mut response = json(&serde_json::json!({ "refused": self.sentence }));
        *response.status_mut() = self.status;
        response
    }
}

/// `value` as a JSON answer.
pub(crate) fn json(value: &impl Serialize) -> Response {
    match serde_json::to_vec(value) {
        Ok(bytes) => typed("application/json", Body::from(bytes)),
        Err(error) => {
            let body = Body::from(format!("The answer could not be written as JSON: {error}."));
            let mut response = typed("text/plain; charset=utf-8", body);
            *response.status_mut() = StatusCode::INTERNAL_SERVER_ERROR;
            response
        }
    }
}

/// `body` under a media type.
pub(crate) fn typed(media: &'static str, body: Body) -> Response {
    ([(header::CONTENT_TYPE, media)], body).into_response()
}
