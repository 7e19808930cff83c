package org.carrybeat.phone

import android.app.Activity
import android.app.KeyguardManager
import android.content.Context
import android.content.Intent
import android.os.Handler
import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Assert.assertTrue
import org.junit.Rule
import org.junit.Test
import org.junit.rules.TemporaryFolder
import org.mockito.ArgumentCaptor
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.eq
import org.mockito.Mockito.`when`
import org.mockito.Mockito.mock
import org.mockito.Mockito.verify
import java.io.File
import java.io.IOException

class ShareTest {
    @get:Rule
    val folder = TemporaryFolder()

    @Test
    fun `the folder that others may look into holds what is handed over and nothing of before`() {
        val handed = File(folder.root, "handed")
        val first = folder.newFile("first.pdf").apply { writeText("one") }
        val others = listOf("two", "three").map { name -> folder.newFile("$name.csv").apply { writeText(name) } }
        Share.copy(listOf(first), handed)
        val copies = Share.copy(others, handed)
        assertEquals(listOf("three.csv", "two.csv"), handed.list()?.sorted())
        assertEquals("in their order", listOf("two", "three"), copies.map { it.readText() })
        assertEquals("the record stays", "one", first.readText())
    }

    @Test
    fun `a file that is not there is said, and so is a second one of the same name`() {
        val handed = File(folder.root, "handed")
        val there = folder.newFile("there.csv")
        assertThrows(IOException::class.java) { Share.copy(listOf(there, File(folder.root, "none.pdf")), handed) }
        val other = File(folder.newFolder("other"), "there.csv").apply { writeText("another") }
        assertThrows(IOException::class.java) { Share.copy(listOf(there, other), handed) }
    }

    private val context = mock(Context::class.java)
    private val guard = mock(KeyguardManager::class.java)
    private val activity = mock(Activity::class.java)
    private val said = ArrayList<String?>()

    /** Hands over one file; what became of it stands in `said`. */
    private fun share() {
        val handler = mock(Handler::class.java)
        `when`(context.cacheDir).thenReturn(folder.root)
        `when`(context.getSystemService(Context.KEYGUARD_SERVICE)).thenReturn(guard)
        `when`(handler.post(any(Runnable::class.java))).thenAnswer {
            (it.arguments[0] as Runnable).run()
            true
        }
        val file = folder.newFile("run.pdf")
        Share(context, { it.run() }, handler).share(listOf(file.path), activity) { said.add(it) }
    }

    @Test
    fun `what the system refuses as files are handed over is said, and ends nothing`() {
        `when`(guard.isKeyguardLocked).thenThrow(SecurityException("not now"))
        share()
        assertEquals(1, said.size)
        assertTrue(said.single(), "not now" in said.single().orEmpty())
    }

    /** On a locked phone: what the system calls once the lock was opened, or was not. */
    private fun asked(): KeyguardManager.KeyguardDismissCallback {
        `when`(guard.isKeyguardLocked).thenReturn(true)
        share()
        val callback = ArgumentCaptor.forClass(KeyguardManager.KeyguardDismissCallback::class.java)
        verify(guard).requestDismissKeyguard(eq(activity), callback.capture())
        assertEquals("nothing is known before the lock is opened", emptyList<String?>(), said)
        return callback.value
    }

    @Test
    fun `what the system refuses after the lock was opened is said once, and ends nothing`() {
        `when`(context.packageName).thenThrow(IllegalStateException("gone by now"))
        asked().onDismissSucceeded()
        assertEquals(1, said.size)
        assertTrue(said.single(), "gone by now" in said.single().orEmpty())
    }

    @Test
    fun `a lock that stays shut is said once, with what to do`() {
        val shut = asked()
        shut.onDismissCancelled()
        assertEquals(listOf("the phone was not unlocked; unlock it and try again"), said)
        said.clear()
        shut.onDismissError()
        assertEquals(listOf("the system does not unlock the phone for it; unlock it first and try again"), said)
    }

    @Test
    fun `several files are offered to apps that take several, as what they have in common`() {
        assertEquals(Intent.ACTION_SEND, Share.action(1))
        assertEquals(Intent.ACTION_SEND_MULTIPLE, Share.action(2))
        assertEquals("text/csv", Share.kind(listOf("a.csv", "b.csv")))
        assertEquals("text/*", Share.kind(listOf("a.csv", "b.txt")))
        assertEquals("*/*", Share.kind(listOf("a.csv", "b.pdf")))
    }

    @Test
    fun `kinds by their ending`() {
        assertEquals("application/pdf", Share.kind("run.PDF"))
        assertEquals("application/json", Share.kind("run.rec.jsonl"))
        assertEquals("application/octet-stream", Share.kind("run"))
    }
}
