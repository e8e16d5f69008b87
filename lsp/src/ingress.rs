//! Stands before the protocol library's service and keeps order: whatever a message does, it does as it arrives.

use futures::future::{BoxFuture, FutureExt};
use std::panic::{AssertUnwindSafe, catch_unwind};
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

#[cfg(test)]
mod tests {
    use super::*;
    use futures::executor::block_on;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU32, Ordering};

    /// Fails on the first call, later on the second, counts every handler that was started.
    struct Unsound {
        started: Arc<AtomicU32>,
    }

    impl Service<Request> for Unsound {
        type Response = Option<Response>;
        type Error = ();
        type Future = BoxFuture<'static, Result<Option<Response>, ()>>;

        fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), ()>> {
            Poll::Ready(Ok(()))
        }

        fn call(&mut self, request: Request) -> Self::Future {
            assert!(request.method() != "at-once", "a fault before the future");
            let started = Arc::clone(&self.started);
            async move {
                started.fetch_add(1, Ordering::SeqCst);
                futures::pending!();
                assert!(request.method() != "later", "a fault behind the first wait");
                Ok(request.id().cloned().map(|id| Response::from_ok(id, serde_json::Value::Null)))
            }
            .boxed()
        }
    }

    #[test]
    fn handlers_start_as_they_arrive_and_faults_stay_theirs() {
        let started = Arc::new(AtomicU32::new(0));
        let mut ingress = Ingress::new(Unsound { started: Arc::clone(&started) });
        let ask = |method: &'static str, id: i64| Request::build(method).id(id).finish();
        let at_once = ingress.call(ask("at-once", 1));
        let later = ingress.call(ask("later", 2));
        let sound = ingress.call(ask("sound", 3));
        assert_eq!(started.load(Ordering::SeqCst), 2, "started before anybody waits for them");
        let code = |answer: Result<Option<Response>, ()>| {
            answer.ok().flatten().and_then(|answer| answer.error().map(|error| error.code.code()))
        };
        assert_eq!(code(block_on(at_once)), Some(-32603));
        assert_eq!(code(block_on(later)), Some(-32603));
        assert!(block_on(sound).is_ok_and(|answer| answer.is_some_and(|answer| answer.is_ok())));
    }
}
