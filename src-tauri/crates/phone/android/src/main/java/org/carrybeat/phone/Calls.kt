package org.carrybeat.phone

import android.media.AudioManager
import android.os.Build
import android.os.Handler
import java.util.concurrent.Executor

/**
 * Whether a call is spoken, by the audio mode: no permission is needed, and calls of other apps count too.
 *
 * Before API 31 the system tells of no change of mode. The ring of a call takes the audio focus, and only the end of
 * the call gives it back: between the two, when it is answered, the focus does not move again. So the mode is read
 * whenever the focus moves and, as long as another app has it, once a second; otherwise nothing is polled.
 */
internal class Calls(
    private val audio: AudioManager,
    private val on: Executor,
    private val handler: Handler,
    private val post: Post,
) {
    private var isStarted = false
    private val again = Runnable { focus(true) }

    fun start() {
        if (!isStarted && Build.VERSION.SDK_INT >= Build.VERSION_CODES.S) {
            audio.addOnModeChangedListener(on, AudioManager.OnModeChangedListener { tell(it) })
        }
        isStarted = true
        look()
    }

    fun look() = tell(audio.mode)

    /** The audio focus moved: another app has it, or none. */
    fun focus(isTaken: Boolean) {
        look()
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.S) return
        handler.removeCallbacks(again)
        if (isTaken) handler.postDelayed(again, EVERY_MS)
    }

    private fun tell(mode: Int) = post.tell(News.call(isSpoken(mode)))

    companion object {
        /** Ringing is none: the ring takes the focus, and that is told. */
        fun isSpoken(mode: Int) = mode == AudioManager.MODE_IN_CALL || mode == AudioManager.MODE_IN_COMMUNICATION

        const val EVERY_MS = 1_000L
    }
}
