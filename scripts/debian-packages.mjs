// The Debian packages the tests call as independent judges, and the ones whose recordings the tests use. The only list;
// setup.mjs installs from it, docs/CONTRIBUTING points at it. Not needed to run the product.

/** Installed through apt-get when set-up runs as root; named otherwise. Package -> what the tests use of it. */
export const CHECKERS = {
  sox: 'sox, soxi',
  'libsox-fmt-all': 'sox reading and writing FLAC and friends',
  flac: 'flac, metaflac',
  'sndfile-programs': 'sndfile-info, sndfile-convert, sndfile-cmp',
  mediainfo: 'mediainfo',
  ffmpeg: 'ffmpeg, ffprobe',
  gcc: 'gcc, for the judges that ask libebur128, libltc and libdv',
  'libc6-dev': 'C headers for gcc',
  'libebur128-dev': 'libebur128 (loudness, true peak)',
  'libasound2-dev': 'the header with the constants of the channel status',
  'libltc-dev': 'libltc (linear timecode)',
  'libdv4-dev': 'libdv (DV sound and its failed samples)',
  'python3-numpy': 'numpy (FFT)',
  'python3-scipy': 'scipy (correlation, filters)',
  'python3-soundfile': 'soundfile (samples through libsndfile)',
};

/** Downloaded and unpacked into .cache/music/<package>/, never installed: real recorded music and speech. */
export const MUSIC = ['sonic-pi-samples', 'csoundqt-examples', 'alsa-utils'];
