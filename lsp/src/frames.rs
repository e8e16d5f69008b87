//! Cuts the incoming bytes into messages by their headers (base protocol of the LSP), and finds the next header again
//! behind bytes that are no message. What a message says is not read here.

use tokio::io::{AsyncBufRead, AsyncBufReadExt, AsyncReadExt};

/// The longest message taken: longer ones are not read into memory.
const LONGEST: usize = 256 << 20;
/// The longest header line kept while looking for a header.
const LONGEST_LINE: u64 = 8 << 10;

/// What came in.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Frame {
    /// The body of a message.
    Body(Vec<u8>),
    /// Bytes that are no message, or a header that says no usable length.
    Garbage,
    /// Nothing more will come.
    End,
}

/// Reads the next message.
pub(crate) async fn next<R: AsyncBufRead + Unpin>(reader: &mut R) -> Frame {
    let mut length: Option<usize> = None;
    let mut garbage = false;
    let mut line = Vec::new();
    loop {
        line.clear();
        match (&mut *reader).take(LONGEST_LINE).read_until(b'\n', &mut line).await {
            Ok(0) | Err(_) => return Frame::End,
            Ok(_) => {}
        }
        let text = String::from_utf8_lossy(&line);
        let text = text.trim();
        if text.is_empty() {
            match length {
                Some(length) => return body(reader, length).await,
                None if garbage => return Frame::Garbage,
                None => continue,
            }
        }
        match find_length(text) {
            Some(Ok(found)) => {
                let leading = !text.to_ascii_lowercase().starts_with("content-length");
                length = Some(found);
                garbage |= leading;
            }
            Some(Err(())) => {
                length = None;
                garbage = true;
            }
            None => garbage |= !text.to_ascii_lowercase().starts_with("content-type"),
        }
    }
}

/// The length that a header line gives; a header may stand behind garbage that had no line end.
fn find_length(line: &str) -> Option<Result<usize, ()>> {
    const NAME: &str = "content-length";
    let at = line.to_ascii_lowercase().find(NAME)?;
    let value = line.get(at + NAME.len()..)?.trim_start().strip_prefix(':')?.trim();
    Some(value.parse().ok().filter(|length| *length <= LONGEST).ok_or(()))
}

async fn body<R: AsyncBufRead + Unpin>(reader: &mut R, length: usize) -> Frame {
    // Grown as bytes arrive: a header may promise more than ever comes.
    let mut bytes = Vec::new();
    match reader.take(length as u64).read_to_end(&mut bytes).await {
        Ok(read) if read == length => Frame::Body(bytes),
        _ => Frame::End,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(bytes: &[u8]) -> Vec<Frame> {
        let runtime = tokio::runtime::Builder::new_current_thread().build();
        runtime.map_or_else(
            |_| Vec::new(),
            |runtime| {
                runtime.block_on(async {
                    let mut reader = tokio::io::BufReader::new(bytes);
                    let mut frames = Vec::new();
                    loop {
                        let frame = next(&mut reader).await;
                        let end = frame == Frame::End;
                        frames.push(frame);
                        if end {
                            return frames;
                        }
                    }
                })
            },
        )
    }

    #[test]
    fn messages_are_found_again_behind_garbage() {
        let body = || Frame::Body(b"{}".to_vec());
        assert_eq!(all(b"Content-Length: 2\r\n\r\n{}"), [body(), Frame::End]);
        assert_eq!(all(b"content-length:2\r\nContent-Type: x; charset=utf-8\r\n\r\n{}"), [body(), Frame::End]);
        assert_eq!(all(b"nonsense\r\n\r\nContent-Length: 2\r\n\r\n{}"), [Frame::Garbage, body(), Frame::End]);
        assert_eq!(all(b"{\"a\":1}Content-Length: 2\r\n\r\n{}"), [body(), Frame::End]);
        assert_eq!(
            all(b"Content-Length: two\r\n\r\nContent-Length: 2\r\n\r\n{}"),
            [Frame::Garbage, body(), Frame::End]
        );
        assert_eq!(all(b"Content-Length: 99999999999999\r\n\r\n"), [Frame::Garbage, Frame::End]);
        assert_eq!(all(b"Content-Length: 20\r\n\r\n{}"), [Frame::End]);
        assert_eq!(all(b""), [Frame::End]);
    }
}
