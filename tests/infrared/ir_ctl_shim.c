/* Lets ir-ctl (Debian package v4l-utils) encode without hardware: /dev/null plays an infra-red transmitter.
   Preloaded. What would be sent is appended to the file named by IR_CTL_LOG, one line per write. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>
#include <linux/lirc.h>

static int is_null_device(int descriptor)
{
	struct stat here, null;
	return !fstat(descriptor, &here) && !stat("/dev/null", &null) && S_ISCHR(here.st_mode) && here.st_rdev == null.st_rdev;
}

static void note(const char *word, const uint32_t *values, size_t count)
{
	const char *name = getenv("IR_CTL_LOG");
	FILE *file = name ? fopen(name, "a") : NULL;
	if (!file)
		return;
	fputs(word, file);
	for (size_t place = 0; place < count; place++)
		fprintf(file, " %u", values[place]);
	fputc('\n', file);
	fclose(file);
}

int ioctl(int descriptor, unsigned long request, ...)
{
	va_list arguments;
	va_start(arguments, request);
	uint32_t *argument = va_arg(arguments, uint32_t *);
	va_end(arguments);
	if (!is_null_device(descriptor)) {
		int (*real)(int, unsigned long, ...) = (int (*)(int, unsigned long, ...))dlsym(RTLD_NEXT, "ioctl");
		return real(descriptor, request, argument);
	}
	if (request == LIRC_GET_FEATURES) {
		*argument = LIRC_CAN_SEND_PULSE | LIRC_CAN_SET_SEND_CARRIER | LIRC_CAN_SET_SEND_DUTY_CYCLE;
		return 0;
	}
	if (request == LIRC_SET_SEND_MODE) {      /* refuse to encode scancodes: ir-ctl must do it */
		if (*argument == LIRC_MODE_PULSE)
			return 0;
		errno = EINVAL;
		return -1;
	}
	if (request == LIRC_SET_SEND_CARRIER) {
		note("carrier", argument, 1);
		return 0;
	}
	errno = ENOTTY;
	return -1;
}

ssize_t write(int descriptor, const void *buffer, size_t size)
{
	if (is_null_device(descriptor)) {
		note("sent", buffer, size / sizeof(uint32_t));
		return size;
	}
	ssize_t (*real)(int, const void *, size_t) = (ssize_t (*)(int, const void *, size_t))dlsym(RTLD_NEXT, "write");
	return real(descriptor, buffer, size);
}

int usleep(useconds_t time)
{
	(void)time;
	return 0;
}
