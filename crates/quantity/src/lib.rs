//! Numbers with units and tolerances: parse, print, SI value.
