// What a mixer knows of a voice on its sound.

class Known {
  /**
   * Where the knobs stood for its kernels, for its curve, and where it could not be had; nothing where there was none yet.
   *
   * @type {Turned | null}
   */
  at = null;
  /** @type {Turned | null} */
  drawnAt = null;
  /** @type {Turned | null} */
  refusedAt = null;
  /**
   * Its kernels and how far they reach; its levels there, and where the guitar's file has the knobs.
   *
   * @type {Made["kernels"] | null}
   */
  kernels = null;
  reach = 0;
  /** @type {Levels | null} */
  levels = null;
  /** @type {Levels | null} */
  home = null;
  /**
   * The highest sample before any gain, where the knobs stood when it was measured, and how far the kernels reached.
   *
   * @type {number | null}
   */
  peak = null;
  /** @type {Turned | null} */
  peakedAt = null;
  peakReach = 0;
}
