"""Networks in ONNX files, run by onnxruntime on one thread.

Newer wheels of onnxruntime (1.29 to 1.32 were looked at, on Linux) report their use to their maker unless
they are told not to before they are loaded. Such are not asked for; where one is there all the same, it
is loaded here alone, so that it always is told.
"""

from __future__ import annotations

import os
from typing import Any


def session_of(model: str | bytes, *, keep_memory: bool) -> Any:
    """An `onnxruntime.InferenceSession` of a network's file (its path) or of what is in it.

    `keep_memory`: whether what one run needed is kept for the next, which then takes the less time.
    The same input gives the same bytes on one machine; it may be asked by several threads at once.
    Raises ImportError where onnxruntime cannot be loaded, and its own errors over a file that is none.
    """
    os.environ["ORT_DISABLE_TELEMETRY"] = "1"  # its Privacy.md: no uploader, no events, no number
    import onnxruntime

    onnxruntime.disable_telemetry_events()  # what else there is, as Windows' own log of events
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    # Weights that are stored as whole numbers are spread out once, not in every run.
    options.add_session_config_entry("session.disable_quant_qdq", "1")
    options.use_deterministic_compute = True
    options.enable_cpu_mem_arena = keep_memory
    options.log_severity_level = 4
    return onnxruntime.InferenceSession(
        model, sess_options=options, providers=["CPUExecutionProvider"], enable_fallback=0
    )
