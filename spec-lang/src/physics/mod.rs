//! Laws as functions on quantities, each citing its source. No finding and no text for readers in here.
