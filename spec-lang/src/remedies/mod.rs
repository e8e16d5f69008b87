//! Edits that mend a finding, found by trying choices in the same figures that the rules read. No text is judged here.

pub mod conductor;
