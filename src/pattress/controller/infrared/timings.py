"""Nominal timings of the infra-red protocols [us]: one table for the decoder and the encoder.

Sources, per row: NEC - uPD6121 data sheet U10114EJ6V0DS00 section 2 (leader), Linux rc-core (unit 562.5);
Samsung - S3F80KB application note as quoted at nicksoft wiki; JVC - "Infrared remote control code for JVC
models", 24 Aug 2006, table 1; Kaseikyo - JP1 Remotes wiki (unit 432); RCA and SIRC - San Bergmans, SB-Projects;
Sharp - XG-C50X user manual p. 94 (264, 1.05/2.10 ms) and SB-Projects (mark 320); Denon - JP1 Remotes wiki;
RC-5 - SB-Projects (889); RC-6 - RF439B remote specification p. 10 (444.4). The values were read in the
project's notes on these sources, not in the originals.
"""

GAP = 5200           # silence that ends a burst: above every inner space, below every gap between frames
KEY_UP = 250000      # after this silence a key counts as released (Linux rc-core, one value for all)

# Pulse-distance and pulse-width rows:
# leader mark, leader space, mark of 0, mark of 1, space of 0, space of 1, bits, stop mark (1) or none (0)
NEC_ROW = (9000, 4500, 562, 562, 562, 1688, 32, 1)
SANYO_ROW = (9000, 4500, 562, 562, 562, 1688, 42, 1)
SAMSUNG_ROW = (4500, 4500, 560, 560, 560, 1690, 32, 1)
JVC_ROW = (8440, 4220, 527, 527, 528, 1583, 16, 1)
JVC_AGAIN_ROW = (0, 0, 527, 527, 528, 1583, 16, 1)
KASEIKYO_ROW = (3456, 1728, 432, 432, 432, 1296, 48, 1)
RCA_ROW = (4000, 4000, 500, 500, 1000, 2000, 24, 1)
SIRC12_ROW = (2400, 600, 600, 1200, 600, 600, 12, 0)
SIRC15_ROW = (2400, 600, 600, 1200, 600, 600, 15, 0)
SIRC20_ROW = (2400, 600, 600, 1200, 600, 600, 20, 0)
SHARP_ROW = (0, 0, 320, 320, 730, 1780, 15, 1)        # periods 1.05 and 2.10 ms
SHARP_WIDE_ROW = (0, 0, 320, 320, 1000, 2000, 15, 1)  # as the kernel's encoder sends it: accepted, never sent
DENON_ROW = (0, 0, 264, 264, 792, 1848, 15, 1)

DITTO_MARK, DITTO_SPACE = 9000, 2250                  # "the key is still held", no data

# Bi-phase: unit of a half bit, bits of the frame
RC5_UNIT, RC5_BITS, RC5SZ_BITS = 889, 14, 15
RC6_UNIT, RC6_LEADER_MARK, RC6_LEADER_SPACE = 444, 2666, 889
SIRC_MARK, SIRC_SPACE = 2533, 744                     # halfway to SIRC's leader: what is below both is not RC-6's
KASEIKYO_SPACE = 1308                                 # halfway to that leader's space
LEADER_LEAST = 1400                                   # a mark that long is a leader, clipped or not: lamps make 400 us at most
RC6_HEADER, RC6_TRAILER = 5, 4                        # start, mode 3, trailer; the trailer's halves are double
RC6_BITS = (21, 25, 29, 37)                           # mode 0; 6A with 20, 24, 32 data bits

# Sharp and Denon send a frame, then the frame with command and flags inverted
PAIR_LEAST, PAIR_MOST = 32000, 55000                  # gap between the halves: 40 to 43.6 ms, clock error, lost time
