//! Stands before the protocol library's service and keeps order: whatever a message does, it does as it arrives.

use futures::future::{BoxFuture, FutureExt};
use std::panic::{catch_unwind, AssertUnwindSafe};
use std::task::{Context, Poll};
use tower::Service;
use tower_lsp::jsonrpc::{Error, Request, Response};

/// Runs every handler up to its first wait inside `call`.
///
/// An edit has no wait, so it is made before the next message is read; a request takes its snapshot before its first
/// wait, so it sees exactly the edits that came before it. Left to the library, handlers start when they are first
/// polled, which may be after later edits. A panic becomes an internal error and ends nothing else.
pub(crate) struct Ingress<S> {
    inner: S,
}

impl<S> Ingress<S> {
    /// Before a service.
    pub(crate) fn new(inner: S) -> Ingress<S> {
        Ingress { inner }
    }
}

impl<S> Service<Request> for Ingress<S>
where
    S: Service<Request, Response = Option<Response>>,
    S::Future: Send + 'static,
    S::Error: Send + 'static,
{
    type Response = Option<Response>;
    type Error = S::Error;
    type Future = BoxFuture<'static, Result<Self::Response, Self::Error>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: Request) -> Self::Future {
        let id = request.id().cloned();
        let broken = move || Ok(id.map(|id| Response::from_error(id, Error::internal_error())));
        let Ok(answer) = catch_unwind(AssertUnwindSafe(|| self.inner.call(request))) else {
            return futures::future::ready(broken()).boxed();
        };
        let mut answer =
            AssertUnwindSafe(answer).catch_unwind().map(move |answer| answer.unwrap_or_else(|_| broken())).boxed();
        match (&mut answer).now_or_never() {
            Some(answer) => futures::future::ready(answer).boxed(),
            None => answer,
        }
    }
}
