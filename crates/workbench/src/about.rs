//! What the page must know before it asks.

use calotte_specimen::{TEMPLATES, case_form, shelf};

use crate::api::{About, CaseFiles, FolderName, Limits, Named};
use crate::{BODY_BYTES, QUICK, Settings, cases, page};

/// Put together once, at the start.
pub(crate) fn about(settings: &Settings, stock: &[CaseFiles]) -> About {
    let folder = settings.folder.as_ref().map(|path| {
        let name =
            path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
        FolderName { name }
    });
    About {
        program: calotte_desk::PROGRAM,
        version: calotte_desk::VERSION,
        limits: Limits {
            body_bytes: BODY_BYTES,
            quick_seconds: QUICK.as_secs_f64(),
            long_seconds: settings.limit.as_secs_f64(),
        },
        node_missing: !page::MISSING.is_empty(),
        tables: case_form(),
        shelf: shelf().iter().map(|m| Named { name: m.key, says: m.name }).collect(),
        cases: stock.iter().map(cases::name_of).collect(),
        templates: TEMPLATES.to_vec(),
        folder,
    }
}
