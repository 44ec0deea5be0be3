// An RP2040 board with flash laid out as the interpreter does for those with Wi-Fi, and a read-only partition.
// The radio's own driver is not among Debian's sources: the network is there, without a way out.
#define MICROPY_HW_BOARD_NAME "RP2040, emulated"
#define MICROPY_HW_FLASH_STORAGE_BYTES (848 * 1024)
#define MICROPY_HW_ROMFS_BYTES (128 * 1024)
#define MICROPY_PY_NETWORK (1)
